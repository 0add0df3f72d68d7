// SPDX-License-Identifier: Apache-2.0
#include "tools/run_command.h"

#include <gtest/gtest.h>

namespace chalkfold::tools {

TEST(ParseTape, ReadsSheetsDistanceAndSigma) {
  const survey::TapeDistance with = parse_tape("1,3,1012.5,0.25");
  EXPECT_EQ(with.sheet_a, 1);
  EXPECT_EQ(with.sheet_b, 3);
  EXPECT_EQ(with.mm, 1012.5);
  EXPECT_EQ(with.sigma_mm, 0.25);
  EXPECT_EQ(parse_tape("1,3,1012").sigma_mm, survey::TapeDistance{}.sigma_mm);
}

TEST(ParseTape, RefusesTheRest) {
  for (const char* text :
       {"", "1,3", "1,3,x", "1;3;1012", "1.5,3,1012", "1,3,1012,0.5,9", "1,3,1012mm", "1,3,", "1, 3,1012"}) {
    EXPECT_THROW(parse_tape(text), UsageError) << text;
  }
}

}  // namespace chalkfold::tools
