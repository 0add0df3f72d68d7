// SPDX-License-Identifier: Apache-2.0
#include "demo/base/outline_field.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "demo/base/noise.h"
#include "demo/design/panel_design.h"

namespace chalkfold::demo {
namespace {

Polyline cushion() {
  Polyline out;
  for (const DesignEdge& e : panel_design(DesignKind::cushion_top).edges) {
    const Polyline part = sampled(e, 0.7);
    out.insert(out.end(), part.begin(), part.end());
  }
  return out;
}

Polyline circle(double radius) {
  Polyline out;
  for (int k = 0; k < 200; ++k) {
    const double angle = std::numbers::pi * k / 100;
    out.push_back(radius * Vec2(std::cos(angle), std::sin(angle)));
  }
  return out;
}

TEST(OutlineField, AgreesWithTheEvenOddRuleNearAndFar) {
  const std::vector<Polyline> rings{cushion(), circle(40)};
  const OutlineField field(rings, 20);
  Random random(3);
  int inside = 0;
  for (int n = 0; n < 20000; ++n) {
    // Every second point within a millimetre of a vertex, where a wrong crossing would show.
    const Polyline& ring = rings[static_cast<std::size_t>(n / 2 % 2)];
    const Vec2 near = ring[static_cast<std::size_t>(random.integer(0, static_cast<int>(ring.size()) - 1))];
    const Vec2 p = n % 2 == 0 ? Vec2{random.uniform(-300, 300), random.uniform(-300, 300)}
                              : Vec2(near + Vec2{random.uniform(-1, 1), random.uniform(-1, 1)});
    const bool expected = geometry::contains(rings[0], p) != geometry::contains(rings[1], p);
    ASSERT_EQ(field.inside(p), expected) << "at " << p.transpose();
    inside += expected;
  }
  EXPECT_GT(inside, 5000);
}

TEST(OutlineField, SignedDistanceIsTheDistanceWithinItsReach) {
  const Polyline outline = cushion();
  constexpr double reach_mm = 20;
  const OutlineField field({outline}, reach_mm);
  Random random(4);
  constexpr double raster_mm = 0.05,
                   share =
                       0.01;  // bilinear over a 1 mm raster; the nearest stretch is guessed from a distance transform
  for (int n = 0; n < 3000; ++n) {
    const Vec2 p{random.uniform(-300, 300), random.uniform(-300, 300)};
    const double distance = geometry::distance_to(outline, p, true);
    const Vec2 right(222, -228), left(-222, -228);
    if ((p - right).norm() < 30 || (p - left).norm() < 30 || distance > reach_mm - 2) continue;
    EXPECT_NEAR(field.signed_distance(p), geometry::contains(outline, p) ? -distance : distance,
                raster_mm + share * distance)
        << "at " << p.transpose();
  }
  EXPECT_FLOAT_EQ(field.signed_distance({900, 0}), static_cast<float>(reach_mm));
}

TEST(OutlineField, TellsWhetherTheEdgePassesNear) {
  const Polyline outline = cushion();
  const OutlineField field({outline}, 10);
  Random random(5);
  int near = 0;
  for (int n = 0; n < 5000; ++n) {
    const Vec2 p =
        outline[static_cast<std::size_t>(n) % outline.size()] + Vec2{random.uniform(-3, 3), random.uniform(-3, 3)};
    const double limit_mm = random.uniform(0.1, OutlineField::near_limit);
    ASSERT_EQ(field.edge_within(p, limit_mm), geometry::distance_to(outline, p, true) < limit_mm);
    near += field.edge_within(p, limit_mm);
  }
  EXPECT_GT(near, 500);
}

TEST(OutlineField, FindsTheFirstCrossingWithItsOutwardNormal) {
  const OutlineField field({{{0, 0}, {100, 0}, {100, 50}, {0, 50}}}, 10);
  const auto crossing = field.first_crossing({103, 20}, {97, 21});
  ASSERT_TRUE(crossing);
  constexpr double exact = 1e-12;
  EXPECT_NEAR(crossing->along, 0.5, exact);
  EXPECT_NEAR((crossing->normal - Vec2(1, 0)).norm(), 0, exact);
  EXPECT_FALSE(field.first_crossing({103, 20}, {103, 26}));
}

}  // namespace
}  // namespace chalkfold::demo
