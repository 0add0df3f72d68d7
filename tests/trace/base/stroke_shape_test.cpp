// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/stroke_shape.h"

#include <gtest/gtest.h>

#include <cmath>

#include "pipeline/geometry/polygon.h"

namespace chalkfold::trace {
namespace {

constexpr double rounding = 1e-9;  // mm

Polyline rectangle(double w, double h) {
  Polyline out;
  for (double x = -w / 2; x < w / 2; x += 1) out.emplace_back(x, -h / 2);
  for (double y = -h / 2; y < h / 2; y += 1) out.emplace_back(w / 2, y);
  for (double x = w / 2; x > -w / 2; x -= 1) out.emplace_back(x, h / 2);
  for (double y = h / 2; y > -h / 2; y -= 1) out.emplace_back(-w / 2, y);
  return out;
}

}  // namespace

TEST(FitLine, GivesBackALineAndItsEnds) {
  Polyline points;
  for (int i = 0; i <= 40; ++i) points.emplace_back(3 + 0.6 * i, -2 + 0.8 * i);
  const FittedLine line = fit_line(points);
  EXPECT_NEAR((line.at(line.from) - points.front()).norm(), 0, rounding);
  EXPECT_NEAR((line.at(line.to) - points.back()).norm(), 0, rounding);
  EXPECT_NEAR(line.rms, 0, 1e-7);
  EXPECT_NEAR((line.direction - Vec2(0.6, 0.8)).norm(), 0, rounding);
}

TEST(LongestStraightRun, LeavesAHookOut) {
  Polyline points;
  for (int i = 0; i <= 60; ++i) points.emplace_back(i, 0);
  for (int i = 1; i <= 15; ++i) points.emplace_back(60 - 0.5 * i, 0.8 * i);
  const Polyline run = longest_straight_run(points, 1.0);
  EXPECT_NEAR((run.front() - Vec2(0, 0)).norm(), 0, rounding);
  constexpr double tolerance = 2.5;  // mm: the cut lies where the hook has left the line by the tolerance
  EXPECT_NEAR(run.back().x(), 60, tolerance);
}

TEST(StraightRuns, CutALineWhereItTurnsAndLeaveNothingOut) {
  Polyline points;
  for (int i = 0; i <= 20; ++i) points.emplace_back(i, 0);
  for (int i = 1; i <= 10; ++i) points.emplace_back(20, i);
  for (int i = 1; i <= 30; ++i) points.emplace_back(20 - i, 10);
  const std::vector<Polyline> runs = straight_runs(points, 1.0);
  ASSERT_EQ(runs.size(), 3u);
  EXPECT_EQ(runs[0].back(), Vec2(20, 0));
  EXPECT_EQ(runs[1].front(), Vec2(20, 0));
  EXPECT_EQ(runs[1].back(), Vec2(20, 10));
  EXPECT_EQ(runs[2].back(), points.back());
  std::size_t steps = 0;
  for (const Polyline& run : runs) steps += run.size() - 1;
  EXPECT_EQ(steps, points.size() - 1);
}

TEST(OutlineRuler, PlacesAndLengthsAgree) {
  const OutlineRuler ruler(rectangle(200, 100));
  EXPECT_NEAR(ruler.length(), 600, rounding);
  for (double s = 3.3; s < 600; s += 31.7) {
    const auto place = ruler.at(s);
    EXPECT_NEAR(ruler.nearest(place.at).along, s, 1e-6);
    EXPECT_NEAR((ruler.at(s - 600).at - place.at).norm(), 0, 1e-6) << "modulo the length";
    EXPECT_NEAR(ruler.apart(s, s + 590), 10, 1e-6);
    EXPECT_NEAR(ruler.apart(s + 590, s), 10, 1e-6);
  }
  const auto hit = ruler.crossing({0, 0}, {1, 0}, 500);
  ASSERT_TRUE(hit);
  EXPECT_NEAR((hit->at - Vec2(100, 0)).norm(), 0, rounding);
  EXPECT_FALSE(ruler.crossing({0, 0}, {1, 0}, 99)) << "out of reach";
  EXPECT_NEAR((ruler.outward(*hit, 5) - Vec2(1, 0)).norm(), 0, 1e-6);
}

// Long segments beside short ones, seen from inside, outside and afar: passing over what lies too far must not lose the nearest.
TEST(OutlineRuler, NothingIsNearerThanTheNearestPlace) {
  Polyline outline = {{-100, -50}, {100, -50}, {100, 50}};
  for (double x = 99; x > -100; x -= 1.5) outline.emplace_back(x, 50 + 3 * std::sin(x));
  const OutlineRuler ruler(outline);
  for (double x = -163; x < 170; x += 9.7) {
    for (double y = -91; y < 100; y += 7.3) {
      const Vec2 p(x, y), at = ruler.nearest(p).at;
      EXPECT_NEAR((at - p).norm(), geometry::distance_to(outline, p, true), rounding) << x << " " << y;
    }
  }
}

}  // namespace chalkfold::trace
