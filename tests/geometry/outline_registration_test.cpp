// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/outline_registration.h"

#include <gtest/gtest.h>

#include <Eigen/LU>
#include <cmath>
#include <numbers>

#include "pipeline/geometry/smallest_rectangle.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

constexpr double degree = std::numbers::pi / 180;

Polyline flag() { return resample_closed({{0, 0}, {300, 40}, {260, 210}, {110, 160}, {40, 240}}, 1100); }

TEST(RegisterOutlines, FindsTheMotionFromEveryOrientation) {
  constexpr double exact = 1e-6;  // mm
  const ClosedOutline source(flag());
  for (int k = 0; k < 12; ++k) {
    const Rigid2 truth{(k * 30 + 7) * degree, {50.0 * k, -80}};
    const ClosedOutline target(moved(truth, flag()));
    const OutlineRegistration fit = register_outlines(source, target).front();
    for (const Vec2& p : flag()) ASSERT_LT((fit.rigid * p - truth * p).norm(), exact) << k;
    EXPECT_LT(fit.strain, 1e-8);
  }
}

TEST(RegisterOutlines, NeverMirrors) {
  Polyline mirrored = flag();
  for (Vec2& p : mirrored) p.x() = -p.x();
  std::reverse(mirrored.begin(), mirrored.end());
  for (const OutlineRegistration& fit : register_outlines(ClosedOutline(flag()), ClosedOutline(mirrored))) {
    EXPECT_GT(fit.affine.linear.determinant(), 0);
    EXPECT_GT(fit.score(), 3);  // mm: the flag has no two sides alike
  }
}

TEST(SmallestRectangle, OfATurnedBox) {
  const Rigid2 motion{0.3, {10, 20}};
  const TurnedRectangle box = smallest_rectangle(moved(motion, {{0, 0}, {200, 0}, {200, 90}, {100, 60}, {0, 90}}));
  EXPECT_NEAR(box.length, 200, 1e-9);
  EXPECT_NEAR(box.width, 90, 1e-9);
  EXPECT_NEAR(std::abs(box.along.dot(unit(0.3))), 1, 1e-12);
  EXPECT_NEAR((box.centre - motion * Vec2(100, 45)).norm(), 0, 1e-9);
}

TEST(ConvexHull, LeavesOutWhatLiesInsideOrOnASide) {
  EXPECT_EQ(convex_hull({{0, 0}, {1, 0}, {2, 0}, {2, 2}, {1, 1}, {0, 2}, {0, 0}}).size(), 4u);
}

}  // namespace
}  // namespace chalkfold::geometry
