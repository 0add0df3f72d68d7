// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/centre_line.h"

#include <gtest/gtest.h>

#include <cmath>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::trace {
namespace {

Polyline rectangle(double w, double h) {
  Polyline out;
  for (double x = -w / 2; x < w / 2; x += 1) out.emplace_back(x, -h / 2);
  for (double y = -h / 2; y < h / 2; y += 1) out.emplace_back(w / 2, y);
  for (double x = w / 2; x > -w / 2; x -= 1) out.emplace_back(x, h / 2);
  for (double y = h / 2; y > -h / 2; y -= 1) out.emplace_back(-w / 2, y);
  return out;
}

}  // namespace

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

}  // namespace chalkfold::trace
