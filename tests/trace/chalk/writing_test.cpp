// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/writing.h"

#include <gtest/gtest.h>

#include <cmath>

namespace chalkfold::trace {
namespace {

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
