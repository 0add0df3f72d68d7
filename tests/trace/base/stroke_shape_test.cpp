// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/stroke_shape.h"

#include <gtest/gtest.h>

#include <cmath>

namespace chalkfold::trace {
namespace {

constexpr double rounding = 1e-9;  // mm

}  // namespace

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

}  // namespace chalkfold::trace
