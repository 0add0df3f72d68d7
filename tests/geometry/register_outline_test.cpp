// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/register_outline.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <stdexcept>

namespace chalkfold {
namespace {

/// mm, largest move of any outline point: noise of 0.05 mm on some 1500 points averages down to a few um in the fit.
constexpr double back_mm = 0.01;

double uniform(std::mt19937& random, double from, double to) { return from + (to - from) * (random() / 4294967296.0); }

Polyline moved(const Rigid2& by, Polyline points) {
  for (Vec2& p : points) p = by * p;
  return points;
}

/// A side panel: straight foot, raked front, rounded top, no symmetry. A point about every millimetre.
Polyline side_panel() {
  Polyline points;
  const Polyline corners = {{0, 0}, {420, 10}, {470, 160}, {300, 280}, {40, 210}};
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const Vec2 &a = corners[i], &b = corners[(i + 1) % corners.size()];
    const int steps = static_cast<int>((b - a).norm());
    for (int k = 0; k < steps; ++k) points.push_back(a + (b - a) * k / steps);
  }
  return points;
}

Polyline rectangle() { return resample_closed({{0, 0}, {300, 0}, {300, 200}, {0, 200}}, 1000); }

/// Noise along both axes, and another point to start at.
Polyline measured_again(Polyline points, double sigma, std::mt19937& random) {
  std::normal_distribution<double> noise(0, sigma);
  for (Vec2& p : points) p += Vec2(noise(random), noise(random));
  std::rotate(points.begin(), points.begin() + static_cast<std::ptrdiff_t>(random() % points.size()), points.end());
  return points;
}

double farthest(const Rigid2& a, const Rigid2& b, const Polyline& points) {
  double most = 0;
  for (const Vec2& p : points) most = std::max(most, (a * p - b * p).norm());
  return most;
}

Rigid2 any_motion(std::mt19937& random) {
  return {uniform(random, -3.1, 3.1), {uniform(random, -500, 500), uniform(random, -500, 500)}};
}

TEST(RegisterOutline, FindsRandomMotionsOfAShapeWithoutSymmetry) {
  std::mt19937 random(3);
  const Polyline panel = side_panel();
  for (int draw = 0; draw < 20; ++draw) {
    const Rigid2 motion = any_motion(random);
    const auto ways = lay_outline_on(panel, measured_again(moved(motion, panel), 0, random));
    ASSERT_FALSE(ways.empty());
    EXPECT_LT(farthest(ways[0].target_from_source, motion, panel), back_mm) << "draw " << draw;
  }
}

TEST(RegisterOutline, NoiseMovesItByItsShareOnly) {
  std::mt19937 random(4);
  const Polyline panel = side_panel();
  double sum = 0;
  constexpr int draws = 20;
  // 240 places of the source with 0.05 mm on both outlines: 0.07 / sqrt(240) mm per direction, some three times that at the ends.
  constexpr double noise = 0.05, share_mm = 3 * 0.07 / 15.5;
  for (int draw = 0; draw < draws; ++draw) {
    const Rigid2 motion = any_motion(random);
    const auto ways =
        lay_outline_on(measured_again(panel, noise, random), measured_again(moved(motion, panel), noise, random));
    ASSERT_FALSE(ways.empty());
    sum += std::pow(farthest(ways[0].target_from_source, motion, panel), 2);
    EXPECT_LT(ways[0].rms, 2 * noise);
  }
  EXPECT_LT(std::sqrt(sum / draws), share_mm);
}

TEST(RegisterOutline, ARectangleLiesTwoWays) {
  const auto ways = lay_outline_on(rectangle(), moved({0.4, {30, -20}}, rectangle()));
  ASSERT_GE(ways.size(), 2u);
  EXPECT_LT(ways[1].rms, 0.1);
  const double turn = ways[0].target_from_source.angle - ways[1].target_from_source.angle;
  EXPECT_NEAR(std::abs(std::remainder(turn, 2 * std::numbers::pi)), std::numbers::pi, 1e-3);
  for (std::size_t i = 2; i < ways.size(); ++i) EXPECT_GT(ways[i].rms, 5) << "a quarter turn is no way";
}

TEST(RegisterOutline, NeverMirrors) {
  Polyline mirror = side_panel();
  for (Vec2& p : mirror) p.x() = -p.x();
  std::reverse(mirror.begin(), mirror.end());
  const auto ways = lay_outline_on(side_panel(), mirror);
  ASSERT_FALSE(ways.empty());
  EXPECT_GT(ways[0].rms, 1.5) << "what the job takes for the same panel";
}

TEST(RegisterOutline, AFoldedFlapCountsForNothing) {
  std::mt19937 random(6);
  const Polyline panel = side_panel();
  const Rigid2 motion{1.1, {200, -90}};
  Polyline torn = moved(motion, panel);
  for (std::size_t i = 150; i < 260; ++i) {  // 110 mm of the foot, up to 8 mm inwards
    const double in = 8 * std::sin((static_cast<double>(i) - 150) * std::numbers::pi / 110);
    torn[i] += Rigid2{motion.angle, Vec2::Zero()} * Vec2(0, in);
  }
  const auto ways = lay_outline_on(panel, measured_again(torn, 0.02, random));
  ASSERT_FALSE(ways.empty());
  constexpr double little_mm = 0.1;  // least squares would be pulled by 0.5 mm
  EXPECT_LT(farthest(ways[0].target_from_source, motion, panel), little_mm);
}

TEST(RegisterOutline, ACircleAndTooFewPointsAreNoTrouble) {
  Polyline circle;
  for (int i = 0; i < 400; ++i)
    circle.push_back(120 * Vec2(std::cos(i * std::numbers::pi / 200), std::sin(i * std::numbers::pi / 200)));
  const auto ways = lay_outline_on(circle, moved({0, {50, 60}}, circle));
  ASSERT_FALSE(ways.empty());
  EXPECT_LT(ways[0].rms, 0.05);
  EXPECT_LT((ways[0].target_from_source * Vec2(0, 0) - Vec2(50, 60)).norm(), 0.05);
  EXPECT_THROW(lay_outline_on({{0, 0}, {1, 0}, {1, 1}}, circle), std::logic_error);
}

}  // namespace
}  // namespace chalkfold
