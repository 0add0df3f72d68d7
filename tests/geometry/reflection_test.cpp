// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/reflection.h"

#include <gtest/gtest.h>

#include <cmath>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

/// A kite with rounded flanks, its own mirror image in x = 0.
Polyline kite() {
  Polyline right = {{0, -80}, {60, -70}, {95, -10}, {70, 55}, {25, 78}, {0, 80}};
  Polyline all = right;
  for (std::size_t i = right.size() - 1; i-- > 1;) all.emplace_back(-right[i].x(), right[i].y());
  return resample_closed(all, 900);
}

/// mm, of an axis from the line through `on` at its nearest to the origin of the outline, and rad between the two.
std::pair<double, double> apart(const MirrorAxis& axis, const Vec2& on, const Vec2& along) {
  return {std::abs(cross(along, axis.point - on)), std::abs(cross(along, axis.direction))};
}

TEST(FitMirrorAxis, FindsTheAxisFromALineBesideIt) {
  for (const double angle : {-1.2, -0.3, 0.0, 0.4, 1.3}) {
    const Rigid2 turn{angle, Vec2(13, -7)}, only{angle, Vec2::Zero()};
    const Vec2 along = only * Vec2(0, 1);
    const MirrorAxis axis =
        fit_mirror_axis(moved(turn, kite()), turn * Vec2(4, 0), only * unit(std::acos(-1.0) / 2 + 0.03), std::nullopt);
    const auto [off, off_angle] = apart(axis, turn * Vec2(0, 0), along);
    // The outline is compared at 250 places, some 2 mm apart, and its corners cut by their chords.
    EXPECT_LT(off, 0.02) << angle;
    EXPECT_LT(off_angle, 0.001) << angle;
    EXPECT_LT(axis.rms, 0.2) << angle;
  }
}

// One half stretched by 2 %: a torn notch on top of it moves the axis no further.
TEST(FitMirrorAxis, ANotchDoesNotMoveIt) {
  Polyline torn = kite();
  for (Vec2& p : torn)
    if (p.x() > 60 && std::abs(p.y() + 10) < 12) p.x() -= 18 * (1 - std::abs(p.y() + 10) / 12);
  const auto [off, off_angle] = apart(fit_mirror_axis(torn, {1, 0}, {0, 1}, std::nullopt), {0, 0}, {0, 1});
  EXPECT_LT(off, 0.1);
  EXPECT_LT(off_angle, 0.001);
}

// The outline's own axis and a line that is known otherwise: the surer one of the two is followed.
TEST(FitMirrorAxis, AKnownLineIsHeededByItsUncertainty) {
  KnownAxis known;
  known.middle = {3, 0};
  known.sigma = 0.001;
  EXPECT_NEAR(fit_mirror_axis(kite(), {0, 0}, {0, 1}, known).point.x(), 3, 0.02);
  known.sigma = 1e4;
  known.sigma_angle = 1e3;
  EXPECT_NEAR(fit_mirror_axis(kite(), {0, 0}, {0, 1}, known).point.x(), 0, 0.02);
}

// A rectangle has two axes, a kite one.
TEST(MirrorAxes, OfARectangleAreTwo) {
  const auto axes = mirror_axes(resample_closed({{-100, -50}, {100, -50}, {100, 50}, {-100, 50}}, 600), 2);
  ASSERT_EQ(axes.size(), 2u);
  for (const MirrorAxis& axis : axes) {
    EXPECT_LT(axis.rms, 0.1);
    EXPECT_LT(std::min(std::abs(axis.direction.x()), std::abs(axis.direction.y())), 0.001);
  }
  EXPECT_LT(std::abs(axes[0].direction.dot(axes[1].direction)), 0.001);
  const auto of_kite = mirror_axes(kite());
  EXPECT_LT(std::abs(of_kite.front().direction.x()), 0.001);
  for (std::size_t i = 1; i < of_kite.size(); ++i) EXPECT_GT(of_kite[i].rms, 3) << "mm";
}

}  // namespace
}  // namespace chalkfold::geometry
