// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/corner_finder.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "pipeline/geometry/polygon.h"

namespace chalkfold {
namespace {

constexpr double least_turn = 28 * std::numbers::pi / 180;

std::vector<BoundaryCorner> corners_of(const Polyline& outline) {
  const auto count = static_cast<std::size_t>(length(outline, true));
  return find_corners(resample_closed(outline, count), length(outline, true) / static_cast<double>(count), 10, least_turn);
}

TEST(FindCorners, FindsThoseOfAPolygonWhereTheyAre) {
  const Polyline kite{{0, 0}, {180, 20}, {240, 150}, {30, 170}};
  const auto corners = corners_of(kite);
  ASSERT_EQ(corners.size(), kite.size());
  for (const Vec2& true_corner : kite) {
    double nearest = 1e9;
    for (const BoundaryCorner& c : corners) nearest = std::min(nearest, (c.point - true_corner).norm());
    EXPECT_LT(nearest, 0.3);  // mm: samples lie 1 mm apart and miss the corner by up to half that
  }
}

TEST(FindCorners, AnArcIsNotACorner) {
  for (double radius : {25.0, 40.0, 120.0}) {
    Polyline circle;
    for (int i = 0; i < 720; ++i) circle.emplace_back(radius * std::cos(i * std::numbers::pi / 360), radius * std::sin(i * std::numbers::pi / 360));
    EXPECT_TRUE(corners_of(circle).empty()) << "radius " << radius;
  }
}

TEST(FindCorners, ARoundedRectangleHasNoneASquareHasFour) {
  Polyline rounded;
  constexpr double r = 25, w = 150, h = 100;
  const Vec2 centres[] = {{w - r, r}, {w - r, h - r}, {r, h - r}, {r, r}};
  for (int k = 0; k < 4; ++k) {
    for (int i = 0; i <= 30; ++i) {
      const double a = (k - 1) * std::numbers::pi / 2 + i * std::numbers::pi / 60;
      rounded.push_back(centres[k] + r * Vec2(std::cos(a), std::sin(a)));
    }
  }
  EXPECT_TRUE(corners_of(rounded).empty());
  EXPECT_EQ(corners_of({{0, 0}, {100, 0}, {100, 100}, {0, 100}}).size(), 4u);
}

}  // namespace
}  // namespace chalkfold
