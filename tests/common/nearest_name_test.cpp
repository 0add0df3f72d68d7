// SPDX-License-Identifier: Apache-2.0
#include "pipeline/common/nearest_name.h"

#include <gtest/gtest.h>

namespace chalkfold {

TEST(EditDistance, CountsTheChangesByHand) {
  EXPECT_EQ(edit_distance("", ""), 0u);
  EXPECT_EQ(edit_distance("abc", ""), 3u);
  EXPECT_EQ(edit_distance("sitting", "kitten"), 3u);
  EXPECT_EQ(edit_distance("chalk", "chlak"), 1u) << "a swap of neighbours is one change";
  EXPECT_EQ(edit_distance("Side", "sIDE"), 0u) << "case does not count";
}

TEST(EditDistance, IsSymmetricAndKeepsTheTriangle) {
  const std::vector<std::string> words = {"thickness_mm", "thicknes",          "side", "", "sides",
                                          "symmetric",    "thickness-sigma-mm"};
  for (const auto& a : words) {
    for (const auto& b : words) {
      EXPECT_EQ(edit_distance(a, b), edit_distance(b, a));
      EXPECT_EQ(edit_distance(a, b) == 0, a == b);
    }
  }
  EXPECT_LE(edit_distance("side", "symmetric"), edit_distance("side", "sides") + edit_distance("sides", "symmetric"));
}

TEST(NearestName, FindsTheSlipAndKeepsQuietAboutStrangers) {
  const std::vector<std::string> known = {"--thickness-mm", "--thickness-sigma-mm", "--out", "--threads"};
  EXPECT_EQ(nearest_name("--thicknes-mm", known), "--thickness-mm");
  EXPECT_EQ(nearest_name("--ouput", known), "--out");
  EXPECT_EQ(nearest_name("--thread", known), "--threads");
  EXPECT_EQ(nearest_name("--zzzzzzzzzz", known), "");
  EXPECT_EQ(nearest_name("--out", {}), "");
}

TEST(NearestName, OfEquallyNearNamesTheFirstWins) { EXPECT_EQ(nearest_name("ab", {"ac", "ad"}), "ac"); }

}  // namespace chalkfold
