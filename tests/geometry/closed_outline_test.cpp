// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/closed_outline.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
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

Polyline flag() { return resample_closed({{0, 0}, {300, 40}, {260, 210}, {110, 160}, {40, 240}}, 1100); }

TEST(ClosedOutline, TellsWhichSideAPointLiesOn) {
  const ClosedOutline square({{0, 0}, {10, 0}, {10, 10}, {0, 10}});
  EXPECT_DOUBLE_EQ(square.length(), 40);
  const OutlinePlace outside = square.nearest({12, 4});
  EXPECT_NEAR(outside.away, 2, 1e-12);
  EXPECT_NEAR(outside.along, 14, 1e-12);
  EXPECT_EQ(outside.segment, 1u);
  EXPECT_NEAR((outside.outward - Vec2(1, 0)).norm(), 0, 1e-12);
  EXPECT_NEAR(square.nearest({4, 1}).away, -1, 1e-12);
  EXPECT_NEAR((square.at(-5).point - Vec2(0, 5)).norm(), 0, 1e-12);
  EXPECT_NEAR((square.at(85).point - Vec2(5, 0)).norm(), 0, 1e-12);
  EXPECT_THROW(ClosedOutline({{0, 0}, {1, 0}}), std::logic_error);
}

// A circle of n points: its length is 2 n r sin(pi / n); a point at a distance from the centre lies that less the radius off it, but
// for the height of the chords. Outside, a corner is nearest: there `away` is told along the normal of one side, up to a step (four heights) aside.
TEST(ClosedOutline, OfACircle) {
  constexpr int n = 720;
  constexpr double r = 100;
  Polyline points;
  for (int i = 0; i < n; ++i) points.push_back(r * unit(2 * std::numbers::pi * i / n));
  const ClosedOutline circle(points);
  const double height = r * (1 - std::cos(std::numbers::pi / n));
  EXPECT_NEAR(circle.length(), 2 * n * r * std::sin(std::numbers::pi / n), rounding);
  for (const double from_centre : {20.0, 99.0, 100.5, 250.0}) {
    for (double angle = 0.01; angle < 2 * std::numbers::pi; angle += 0.37) {
      const OutlinePlace place = circle.nearest(from_centre * unit(angle));
      EXPECT_NEAR((place.point - from_centre * unit(angle)).norm(), std::abs(from_centre - r), height + rounding);
      EXPECT_NEAR(place.away, from_centre - r, 4 * std::max(1.0, from_centre / r) * height + rounding);
      EXPECT_NEAR(place.along, angle * circle.length() / (2 * std::numbers::pi), r * 2 * std::numbers::pi / n);
      EXPECT_GT(place.outward.dot(unit(angle)), std::cos(2 * std::numbers::pi / n));
      EXPECT_GT(circle.outward_over(place.along, 5).dot(unit(angle)), std::cos(2 * std::numbers::pi / n));
    }
  }
  const auto places = circle.places(36);
  ASSERT_EQ(places.size(), 36u);
  for (std::size_t i = 0; i < places.size(); ++i)
    EXPECT_NEAR(places[i].along, circle.length() * (static_cast<double>(i) + 0.5) / 36, rounding);
}

TEST(ClosedOutline, LookedForAboutAPlaceIsTheSameAsOverTheWhole) {
  const ClosedOutline outline(flag());
  const OutlinePlace before = outline.nearest({280, 120});
  for (const Vec2& p : {Vec2(285, 110), Vec2(275, 150), Vec2(300, 60)})
    EXPECT_NEAR((outline.nearest_about(p, before, 100).point - outline.nearest(p).point).norm(), 0, 1e-12);
}

TEST(ClosedOutline, PlacesAndLengthsAgree) {
  const ClosedOutline outline(rectangle(200, 100));
  EXPECT_NEAR(outline.length(), 600, rounding);
  for (double s = 3.3; s < 600; s += 31.7) {
    const OutlinePlace place = outline.at(s);
    EXPECT_DOUBLE_EQ(place.along, s);
    EXPECT_NEAR(outline.nearest(place.point).along, s, 1e-6);
    EXPECT_NEAR((outline.at(s - 600).point - place.point).norm(), 0, 1e-6) << "modulo the length";
    EXPECT_NEAR(outline.apart(s, s + 590), 10, 1e-6);
    EXPECT_NEAR(outline.apart(s + 590, s), 10, 1e-6);
  }
}

TEST(ClosedOutline, ARayCrossesItWhereItFirstMeetsIt) {
  // An open C: the ray from inside its mouth meets the inner wall first, not the outer.
  const ClosedOutline c({{0, 0}, {100, 0}, {100, 20}, {20, 20}, {20, 80}, {100, 80}, {100, 100}, {0, 100}});
  const auto hit = c.crossing({60, 50}, {-1, 0}, 500);
  ASSERT_TRUE(hit);
  EXPECT_NEAR((hit->point - Vec2(20, 50)).norm(), 0, rounding);
  EXPECT_NEAR(hit->along, 100 + 20 + 80 + 30, rounding);
  EXPECT_NEAR((hit->outward - Vec2(1, 0)).norm(), 0, rounding);
  EXPECT_NEAR((c.outward_over(hit->along, 5) - Vec2(1, 0)).norm(), 0, rounding);
  EXPECT_FALSE(c.crossing({60, 50}, {-1, 0}, 39)) << "out of reach";
  EXPECT_FALSE(c.crossing({60, 50}, {1, 0}, 500)) << "out of the mouth";
}

// Long segments beside short ones, seen from inside, outside and afar: passing over what lies too far must not lose the nearest.
TEST(ClosedOutline, NothingIsNearerThanTheNearestPlace) {
  Polyline points = {{-100, -50}, {100, -50}, {100, 50}};
  for (double x = 99; x > -100; x -= 1.5) points.emplace_back(x, 50 + 3 * std::sin(x));
  const ClosedOutline outline(points);
  for (double x = -163; x < 170; x += 9.7) {
    for (double y = -91; y < 100; y += 7.3) {
      const Vec2 p(x, y);
      const OutlinePlace place = outline.nearest(p);
      EXPECT_NEAR((place.point - p).norm(), distance_to(points, p, true), rounding) << x << " " << y;
      // Beside a corner `away` tells of the one side that is named.
      const bool within_a_side = std::abs(std::abs(place.away) - (place.point - p).norm()) < rounding;
      if (within_a_side && std::abs(place.away) > 0.01) {
        EXPECT_EQ(place.away < 0, contains(points, p)) << x << " " << y;
      }
    }
  }
}

}  // namespace
}  // namespace chalkfold::geometry
