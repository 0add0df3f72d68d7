// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/line_fit.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

constexpr double rounding = 1e-9;  // mm

TEST(FitLine, GivesBackALineAndItsEnds) {
  for (int k = 0; k < 16; ++k) {
    const double angle = k * std::numbers::pi / 8 + 0.05;
    Polyline points;
    for (int i = 0; i <= 40; ++i) points.emplace_back(Vec2(3, -2) + i * unit(angle));
    const FittedLine line = fit_line(points);
    EXPECT_NEAR((line.direction - unit(angle)).norm(), 0, rounding) << "from the first towards the last, " << angle;
    EXPECT_NEAR((line.at(line.from) - points.front()).norm(), 0, rounding);
    EXPECT_NEAR((line.at(line.to) - points.back()).norm(), 0, rounding);
    EXPECT_NEAR(line.length(), 40, rounding);
    // The root of an eigenvalue that is zero but for rounding beside one of 5,740 mm2: sqrt(5740 x 2e-15 / 41).
    EXPECT_NEAR(line.rms, 0, 6e-7);
  }
}

double squares_about(const Polyline& points, const Vec2& on, double angle) {
  double sum = 0;
  for (const Vec2& p : points) sum += std::pow(cross(unit(angle), p - on), 2);
  return sum;
}

// What total least squares means: no line nearby has a smaller sum of squared distances.
TEST(FitLine, NoLineTurnedOrMovedLeavesLess) {
  const Polyline points = {{0, 0.3}, {4, -0.6}, {9, 1.4}, {13, 0.2}, {20, 2.9}, {22, 1.1}, {31, 3.6}};
  const FittedLine line = fit_line(points);
  const double angle = std::atan2(line.direction.y(), line.direction.x());
  const double least = squares_about(points, line.middle, angle);
  EXPECT_NEAR(line.rms, std::sqrt(least / 7), rounding);
  for (const double turn : {-0.01, -0.0001, 0.0001, 0.01})
    EXPECT_GT(squares_about(points, line.middle, angle + turn), least) << turn;
  for (const double move : {-0.1, -0.001, 0.001, 0.1})
    EXPECT_GT(squares_about(points, line.middle + move * left_of(line.direction), angle), least) << move;
}

// A fibre: 4 points of 31 lie 3 mm off at one end, which turns the plain fit.
TEST(FitLineRobustly, AFibreTurnsItLittle) {
  Polyline points;
  for (int i = 0; i <= 30; ++i) points.emplace_back(i, i > 26 ? 3 : 0.02 * std::sin(2.4 * i));
  const double plain = std::abs(fit_line(points).direction.y()),
               robust = std::abs(fit_line_robustly(points, 0.05).direction.y());
  EXPECT_GT(plain, 0.05);
  // Four rounds, begun at the plain fit, whose own limit is wide: a third of the turn is left, and half is the bar.
  EXPECT_LT(robust, 0.5 * plain);
}

TEST(FitLineRobustly, WithoutOutliersItIsThePlainFit) {
  Polyline points;
  for (int i = 0; i <= 30; ++i) points.emplace_back(i, 0.4 * i + 0.04 * std::sin(2.4 * i));
  const FittedLine plain = fit_line(points), robust = fit_line_robustly(points, 0.05);
  EXPECT_NEAR((plain.direction - robust.direction).norm(), 0, rounding);
  EXPECT_NEAR(plain.rms, robust.rms, rounding);
}

// An ellipse's second moments: a^2 along, b^2 across, turned.
TEST(PrincipalAngle, OfATurnedEllipse) {
  for (double angle = -1.5; angle < 1.55; angle += 0.25) {
    const double c = std::cos(angle), s = std::sin(angle), a2 = 9, b2 = 4;
    EXPECT_NEAR(principal_angle(c * c * a2 + s * s * b2, c * s * (a2 - b2), s * s * a2 + c * c * b2), angle, rounding);
  }
}

}  // namespace
}  // namespace chalkfold::geometry
