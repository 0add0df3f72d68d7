// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/outline_gap.h"

#include <gtest/gtest.h>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/regions.h"
#include "tests/draft/drawn_shapes.h"

namespace chalkfold::geometry {
namespace {

constexpr double area_tolerance = 0.05;  // mm2: half of Clipper's grid of 0.1 um along an outline of a metre
constexpr double gap_tolerance = 1e-9;   // mm, rounding of doubles

Polyline rectangle(double left, double low, double right, double high) {
  return {{left, low}, {right, low}, {right, high}, {left, high}};
}

TEST(Overlap, IsTheSharedAreaWhicheverWayTheLinesRun) {
  const Polyline a = rectangle(0, 0, 100, 50);
  Polyline b = rectangle(80, 40, 200, 200);
  EXPECT_NEAR(overlap_area(a, b), 200, area_tolerance);
  std::reverse(b.begin(), b.end());
  EXPECT_NEAR(overlap_area(a, b), 200, area_tolerance);
  EXPECT_NEAR(overlap_area(b, a), 200, area_tolerance);
}

TEST(Overlap, OneInsideTheOtherIsItsWholeArea) {
  EXPECT_NEAR(overlap_area(rectangle(0, 0, 100, 100), rectangle(20, 20, 30, 40)), 200, area_tolerance);
}

TEST(Overlap, NeighboursAlongALineShareNothing) {
  EXPECT_NEAR(overlap_area(rectangle(0, 0, 100, 100), rectangle(100, 0, 200, 100)), 0, area_tolerance);
}

TEST(Overlap, AHookAroundAPieceSharesNothingThoughTheBoxesDo) {
  const Polyline hook = {{0, 0}, {100, 0}, {100, 20}, {20, 20}, {20, 100}, {0, 100}};
  EXPECT_NEAR(overlap_area(hook, rectangle(25, 25, 90, 90)), 0, area_tolerance);
  EXPECT_NEAR(gap_between(hook, rectangle(25, 25, 90, 90)), 5, gap_tolerance);
}

TEST(Gap, BetweenCornersIsTheirDistance) {
  EXPECT_NEAR(gap_between(rectangle(0, 0, 10, 10), rectangle(13, 14, 20, 20)), 5, gap_tolerance);
}

TEST(Gap, IsZeroWhereLinesCross) { EXPECT_EQ(gap_between(rectangle(0, 40, 100, 60), rectangle(40, 0, 60, 100)), 0); }

TEST(GrownOutline, HoldsAllThatLiesWithinItsReachAndHasFewPoints) {
  constexpr double by = 1, slack = 0.5;
  for (const Curve& shape :
       {drawn::circle(140), drawn::rounded_trapezoid(), drawn::star(200, 90), drawn::stadium(300, 80)}) {
    const Polyline line = flattened(shape, 0.01);
    const Polyline grown = grown_outline(line, by, slack);
    EXPECT_LE(grown.size(), 64u);  // a circle, halved six times
    EXPECT_GT(signed_area(grown), 0);
    EXPECT_NEAR(overlap_area(line, grown), signed_area(line), area_tolerance);
    EXPECT_GE(gap_between(line, grown), by - 0.01);  // 0.01: what the flattening may leave out
    double farthest = 0;
    for (const Vec2& p : grown) farthest = std::max(farthest, distance_to(line, p, true));
    EXPECT_LE(farthest, 2 * (by + slack) + 0.01);
  }
}

}  // namespace
}  // namespace chalkfold::geometry
