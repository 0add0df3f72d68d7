// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/regions.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "pipeline/geometry/polygon.h"

namespace chalkfold::geometry {
namespace {

// Coordinates are rounded to 0.1 um; over the metre of these outlines that is 0.1 mm2.
constexpr double grid_mm2 = 0.1;

Polyline box(double x, double y, double width, double height) {
  return {{x, y}, {x + width, y}, {x + width, y + height}, {x, y + height}};
}

Polyline backwards(Polyline area) {
  std::reverse(area.begin(), area.end());
  return area;
}

TEST(Regions, UnitedAndOverlapAddUp) {
  const Polyline a = box(-100, -50, 300, 200), b = box(120.5, 30.25, 300, 250);
  const auto whole = united({a, b}), both = overlap(a, b);
  ASSERT_EQ(whole.size(), 1u);
  ASSERT_EQ(both.size(), 1u);
  EXPECT_NEAR(signed_area(whole[0]) + signed_area(both[0]), signed_area(a) + signed_area(b), grid_mm2);
  EXPECT_NEAR(overlap_area(a, b), 79.5 * 119.75, grid_mm2);
}

TEST(Regions, DirectionDoesNotMatterAndResultsRunCounterClockwise) {
  const Polyline a = box(0, 0, 100, 100), b = box(60, 60, 100, 100);
  for (const Polyline& first : {a, backwards(a)})
    for (const Polyline& second : {b, backwards(b)}) {
      EXPECT_NEAR(overlap_area(first, second), 1600, grid_mm2);
      for (const Polyline& area : united({first, second})) EXPECT_GT(signed_area(area), 0);
    }
}

TEST(Regions, WhatDoesNotTouchStaysApartLargestFirst) {
  const auto apart = united({box(0, 0, 10, 10), box(500, 0, 30, 30)});
  ASSERT_EQ(apart.size(), 2u);
  EXPECT_NEAR(signed_area(apart[0]), 900, grid_mm2);
  EXPECT_TRUE(overlap(box(0, 0, 10, 10), box(500, 0, 30, 30)).empty());
  EXPECT_EQ(overlap_area(box(0, 0, 10, 10), box(10, 0, 10, 10)), 0) << "neighbours that touch";
  EXPECT_TRUE(united({}).empty());
}

TEST(Regions, HolesBetweenAreasAreFilled) {
  // Four bars around an opening.
  const auto ring = united({box(0, 0, 100, 20), box(0, 80, 100, 20), box(0, 0, 20, 100), box(80, 0, 20, 100)});
  ASSERT_EQ(ring.size(), 1u);
  EXPECT_NEAR(signed_area(ring[0]), 100 * 100, grid_mm2);
}

TEST(Regions, ARimIsTakenOffAllRoundCornersStaySquare) {
  const auto inner = without_rim(box(10, 20, 400, 300), 15);
  ASSERT_EQ(inner.size(), 1u);
  EXPECT_NEAR(signed_area(inner[0]), 370 * 270, grid_mm2);
  const Box bounds = bounding_box(inner[0]);
  EXPECT_LT((bounds.min - Vec2(25, 35)).norm(), 1e-3);
  EXPECT_TRUE(without_rim(box(0, 0, 400, 20), 15).empty()) << "nothing is left of a narrow strip";
  // A dumb-bell falls apart where it is narrow.
  EXPECT_EQ(without_rim(united({box(0, 0, 100, 100), box(90, 40, 120, 20), box(200, 0, 120, 100)})[0], 15).size(), 2u);
}

TEST(Regions, AreaWithoutCountsWhatOverlapsOnceAndWhatLiesOutsideNot) {
  const Polyline area = box(0, 0, 1000, 800);
  const double left =
      area_without(area, {box(100, 100, 200, 100), backwards(box(200, 100, 200, 100)), box(950, 700, 200, 200)});
  EXPECT_NEAR(left, 1000 * 800 - 300 * 100 - 50 * 100, grid_mm2);
  EXPECT_NEAR(area_without(area, {}), 1000 * 800, grid_mm2);
}

TEST(Regions, AClosedLineCoversARingWithItsInsideBare) {
  constexpr double width = 4, round_mm2 = 1;  // corners that stand for round ones
  const Polyline square = {{0, 0}, {60, 0}, {60, 60}, {0, 60}, {0, 0}};
  const auto covered = covered_by({{square, width}, {{{200, 0}, {230, 0}}, width}});
  ASSERT_EQ(covered.size(), 2u);
  ASSERT_EQ(covered[0].inside.size(), 1u);
  EXPECT_NEAR(signed_area(covered[0].inside[0]), 56 * 56, round_mm2);
  EXPECT_NEAR(signed_area(covered[0].outer), 64 * 64 - (4 - M_PI) * 4, round_mm2);
  EXPECT_TRUE(covered[1].inside.empty());
  EXPECT_NEAR(signed_area(covered[1].outer), 30 * 4 + M_PI * 4, round_mm2);
}

TEST(Regions, OpeningTakesOffWhatIsNarrowerThanTheDisc) {
  const Polyline body = box(0, 0, 50, 50), tail = box(50, 20, 40, 3);
  const auto both = united({body, tail});
  ASSERT_EQ(both.size(), 1u);
  const auto kept = opened(both[0], 2);
  ASSERT_EQ(kept.size(), 1u);
  EXPECT_NEAR(signed_area(kept[0]), 50 * 50 - (4 - M_PI) * 4, 3);
  EXPECT_LT(bounding_box(kept[0]).max.x(), 51) << "but for the disc's fillets in the corners";
  EXPECT_TRUE(opened(tail, 2).empty());
}

}  // namespace
}  // namespace chalkfold::geometry
