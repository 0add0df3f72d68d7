// SPDX-License-Identifier: Apache-2.0
#include "pipeline/common/fault.h"

#include <gtest/gtest.h>

namespace chalkfold {

TEST(Fault, SeveritiesAreWrittenAsTheSchemaNamesThem) {
  EXPECT_EQ(to_string(Severity::note), "note");
  EXPECT_EQ(to_string(Severity::warning), "warning");
  EXPECT_EQ(to_string(Severity::refusal), "refusal");
}

TEST(Fault, OnlyARefusalIsOne) {
  const Fault note{"a", Severity::note, {}, {}, {}, {}}, warning{"b", Severity::warning, {}, {}, {}, {}},
      refusal{"c", Severity::refusal, {}, {}, {}, {}};
  EXPECT_FALSE(has_refusal({}));
  EXPECT_FALSE(has_refusal({note, warning}));
  EXPECT_TRUE(has_refusal({note, refusal, warning}));
}

}  // namespace chalkfold
