// SPDX-License-Identifier: Apache-2.0
#include "demo/design/edge_cut.h"

#include <gtest/gtest.h>

namespace chalkfold::demo {
namespace {

/// Lower edge of a panel, 0.5 mm apart: inwards is up.
Polyline edge() {
  Polyline out;
  for (int k = 0; k <= 200; ++k) out.emplace_back(0.5 * k, 0);
  return out;
}

TEST(AtShare, PointsInwards) {
  const EdgePoint e = at_share(edge(), 0.25);
  EXPECT_LT((e.at - Vec2(25, 0)).norm(), 1e-9);
  EXPECT_LT((e.inward - Vec2(0, 1)).norm(), 1e-9);
  EXPECT_LT((e.along() - Vec2(1, 0)).norm(), 1e-9);
}

TEST(Notched, TakesTheNotchesAreaAndDepth) {
  struct Case {
    NotchAt notch;
    double area;
  };
  const double half_disc = 3.14159265 * 2.25 * 2.25 / 2;
  const std::vector<Case> cases = {{{0, 0.5, NotchKind::vee, 6, 5}, 15},
                                   {{0, 0.5, NotchKind::slit, 7, 0.7}, 4.9},
                                   {{0, 0.5, NotchKind::round, 6, 4.5}, 4.5 * 3.75 + half_disc}};
  for (const Case& c : cases) {
    Polyline closed = notched(edge(), 0, {c.notch}, true);
    closed.insert(closed.end(), {{100, 0}, {100, 50}, {0, 50}});
    constexpr double chords_mm2 = 0.1;  // of the round notch's 16 chords
    EXPECT_NEAR(5000 - geometry::signed_area(closed), c.area, chords_mm2);
    double deepest = 0;
    for (const Vec2& p : closed) deepest = p.y() < 50 ? std::max(deepest, p.y()) : deepest;
    EXPECT_NEAR(deepest, c.notch.depth, 1e-9);
  }
}

TEST(Notched, LeavesSlitsAndOtherEdgesAlone) {
  const NotchAt slit{0, 0.5, NotchKind::slit, 7}, elsewhere{3, 0.5, NotchKind::vee, 7};
  EXPECT_EQ(notched(edge(), 0, {slit, elsewhere}, false).size(), edge().size() - 1);
  EXPECT_NE(notched(edge(), 0, {slit}, true).size(), edge().size() - 1);
}

}  // namespace
}  // namespace chalkfold::demo
