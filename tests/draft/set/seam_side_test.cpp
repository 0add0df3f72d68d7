// SPDX-License-Identifier: Apache-2.0
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/common/error.h"
#include "pipeline/draft/set/seam.h"

namespace chalkfold::draft {
namespace {

TEST(SeamSide, WhatIsWrittenIsReadAgain) {
  for (const char* text : {"cushion top/2", "edge strip/1-4", "edge strip/4-2", "cushion top/2:1-3",
                           "cushion top/2:start-1", "a/b/12-3:2-end mirrored", "bolster/3 mirrored"})
    EXPECT_EQ(to_text(read_seam_side(text)), text);
}

TEST(SeamSide, PartsAreTakenApart) {
  const SeamSide side = read_seam_side("left/right piece/4-2:1-end mirrored");
  EXPECT_EQ(side.piece, "left/right piece");
  EXPECT_EQ(side.first_edge, 4);
  EXPECT_EQ(side.last_edge, 2);
  EXPECT_EQ(side.from_mark, 1);
  EXPECT_FALSE(side.to_mark);
  EXPECT_TRUE(side.mirrored);
}

TEST(SeamSide, WhatIsNoSideIsRefusedWithTheReason) {
  for (const auto& [text, reason] : {std::pair("cushion top", "names no edge"),
                                     {"/2", "names no piece"},
                                     {"top/x", "edges are numbers"},
                                     {"top/0", "edges are numbers"},
                                     {"top/2-", "edges are numbers"},
                                     {"top/2:3", "two marks are needed"},
                                     {"top/2:3-1", "must come after"},
                                     {"top/2:end-1", "mark numbers from 1"},
                                     {"top/99999999999", "edges are numbers"}}) {
    try {
      read_seam_side(text);
      ADD_FAILURE() << text << " was taken";
    } catch (const UsageError& error) {
      EXPECT_THAT(error.what(), testing::HasSubstr(reason)) << text;
      EXPECT_THAT(error.what(), testing::HasSubstr("PIECE/EDGE"));
    }
  }
}

}  // namespace
}  // namespace chalkfold::draft
