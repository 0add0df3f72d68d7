// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/stroke_shape.h"

#include <gtest/gtest.h>

#include <cmath>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/chalk/centre_line.h"
#include "pipeline/trace/chalk/writing.h"

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

/// The letter U: two arms and half a circle, open upwards, turned by `angle`.
Polyline letter_u(double height, double width, double angle) {
  Polyline out;
  const double r = width / 2, arm = height - r;
  for (double t = 0; t <= arm; t += 0.5) out.emplace_back(-r, height / 2 - t);
  for (double a = 0; a <= M_PI; a += 0.05) out.emplace_back(-r * std::cos(a), height / 2 - arm - r * std::sin(a));
  for (double t = arm; t >= 0; t -= 0.5) out.emplace_back(r, height / 2 - t);
  const geometry::Rigid2 turn{angle, Vec2(40, -20)};
  for (Vec2& p : out) p = turn * p;
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

TEST(BestReflection, FindsTheAxisOfASymmetricOutline) {
  Polyline outline = rectangle(200, 100);
  const geometry::Rigid2 turn{0.4, Vec2(13, -7)};
  for (Vec2& p : outline) p = turn * p;
  const geometry::ClosedOutline ruler(outline);
  const Vec2 along(-std::sin(0.4), std::cos(0.4));
  const ReflectionAxis axis =
      best_reflection(ruler, turn * Vec2(4, 0), geometry::Rigid2{0.43, Vec2::Zero()} * Vec2(0, 1));
  constexpr double mm = 0.02;
  EXPECT_NEAR(std::abs((axis.middle - turn * Vec2(0, 0)).dot(Vec2(along.y(), -along.x()))), 0, mm);
  EXPECT_GT(std::abs(axis.direction.dot(along)), std::cos(0.001));
  EXPECT_LT(axis.rms, 0.1);
}

TEST(UndersideLetter, IsKnownInAnyOrientationAndSize) {
  for (const double height : {25.5, 50.0, 79.0}) {
    for (int k = 0; k < 8; ++k) {
      const double angle = k * M_PI / 4 + 0.1;
      const auto up = underside_letter({letter_u(height, 0.6 * height, angle)});
      ASSERT_TRUE(up) << height << " mm at " << angle;
      const double off = std::remainder(*up - (angle + M_PI / 2), 2 * M_PI);
      EXPECT_NEAR(off, 0, 0.05) << "rad";
    }
  }
}

TEST(UndersideLetter, OtherShapesAreNot) {
  const auto arc = [](double from, double to, double r) {
    Polyline p;
    for (double a = from; a <= to; a += 0.04) p.emplace_back(r * std::cos(a), r * std::sin(a));
    return p;
  };
  EXPECT_FALSE(underside_letter({letter_u(18, 11, 0)})) << "too small";
  EXPECT_FALSE(underside_letter({letter_u(95, 60, 0)})) << "too large";
  EXPECT_FALSE(underside_letter({arc(0, 2 * M_PI, 20)})) << "O";
  EXPECT_FALSE(underside_letter({arc(0.8, 2 * M_PI - 0.8, 22)})) << "C";
  EXPECT_FALSE(underside_letter({{{0, 40}, {12, 0}, {24, 40}}})) << "V";
  Polyline seven, el;
  for (double t = 0; t <= 25; t += 0.5) seven.emplace_back(t, 40);
  for (double t = 0; t <= 40; t += 0.5) seven.emplace_back(25 - 0.4 * t, 40 - t);
  for (double t = 40; t >= 0; t -= 0.5) el.emplace_back(0, t);
  for (double t = 0; t <= 25; t += 0.5) el.emplace_back(t, 0);
  EXPECT_FALSE(underside_letter({seven})) << "7";
  EXPECT_FALSE(underside_letter({el})) << "L";
  EXPECT_FALSE(underside_letter({}));
}

}  // namespace chalkfold::trace
