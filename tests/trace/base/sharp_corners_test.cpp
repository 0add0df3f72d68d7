// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/sharp_corners.h"

#include <gtest/gtest.h>

#include <cmath>

#include "pipeline/geometry/polygon.h"

namespace chalkfold::trace {
namespace {

constexpr double spacing = 1, arm = 10;  // mm, as the outline fit asks for
constexpr double least_turn = 28 * M_PI / 180;

std::vector<SharpCorner> corners_of(const Polyline& closed) {
  const auto count = static_cast<std::size_t>(std::lround(geometry::length(closed, true) / spacing));
  return find_sharp_corners(geometry::resample_closed(closed, count), spacing, arm, least_turn);
}

Polyline circle(double radius) {
  Polyline points;
  for (int i = 0; i < 720; ++i) points.push_back(radius * Vec2(std::cos(i * M_PI / 360), std::sin(i * M_PI / 360)));
  return points;
}

// mm: the sides' lines cross at the corner however the 1 mm steps fall beside it.
constexpr double crossing = 0.05;

TEST(FindSharpCorners, FindsEveryCornerOfAPolygon) {
  const Polyline polygons[] = {{{0, 0}, {200, 0}, {200, 150}, {0, 150}},
                               {{0, 0}, {180, 20}, {220, 140}, {90, 210}, {-30, 120}},
                               {{0, 0}, {150, 0}, {150, 60}, {70, 60}, {70, 160}, {0, 160}}};  // with one inward
  for (const Polyline& polygon : polygons) {
    const auto corners = corners_of(polygon);
    ASSERT_EQ(corners.size(), polygon.size());
    for (const Vec2& p : polygon) {
      double nearest = 1e9;
      for (const SharpCorner& c : corners) nearest = std::min(nearest, (c.point - p).norm());
      EXPECT_LT(nearest, crossing);
    }
    double turn = 0;
    for (const SharpCorner& c : corners) turn += c.turn;
    EXPECT_NEAR(turn, 2 * M_PI, 0.01);  // all the way round, counter-clockwise
  }
}

TEST(FindSharpCorners, FindsNoneOnACircle) {
  for (const double radius : {25.0, 60.0, 300.0}) EXPECT_TRUE(corners_of(circle(radius)).empty()) << radius;
}

TEST(FindSharpCorners, FindsNoneOnARoundedRectangle) {
  Polyline rounded;
  for (int quarter = 0; quarter < 4; ++quarter) {
    const Vec2 middle(quarter == 0 || quarter == 3 ? 100 : -100, quarter < 2 ? 60 : -60);
    for (int i = 0; i <= 90; ++i) {
      const double a = (quarter * 90 + i) * M_PI / 180;
      rounded.push_back(middle + 25 * Vec2(std::cos(a), std::sin(a)));
    }
  }
  EXPECT_TRUE(corners_of(rounded).empty());
}

TEST(FindSharpCorners, SaysHowFarARoundedTipIsCut) {
  // A right angle whose tip is rounded with 3 mm: still a corner, cut by (sqrt 2 - 1) 3 mm.
  Polyline tip = {{0, 0}, {200, 0}};
  for (int i = 0; i <= 45; ++i) {
    const double a = (-90 + 2 * i) * M_PI / 180;
    tip.push_back(Vec2(197, 0) + Vec2(3 * std::cos(a), 3 + 3 * std::sin(a)));
  }
  tip.insert(tip.end(), {{200, 150}, {0, 150}});
  tip.erase(tip.begin() + 1);
  const auto corners = corners_of(tip);
  ASSERT_EQ(corners.size(), 4u);
  const auto rounded =
      std::find_if(corners.begin(), corners.end(), [](const auto& c) { return (c.point - Vec2(200, 0)).norm() < 1; });
  ASSERT_NE(rounded, corners.end());
  EXPECT_NEAR(rounded->cut, (std::sqrt(2.0) - 1) * 3, 0.3);  // the 1 mm steps miss the arc's middle by up to half
}

}  // namespace
}  // namespace chalkfold::trace
