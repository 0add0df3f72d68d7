// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/centre_line.h"

#include <gtest/gtest.h>

#include <cmath>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::trace {
namespace {

Polyline rectangle(double w, double h) {
  return geometry::resample_closed({{-w / 2, -h / 2}, {w / 2, -h / 2}, {w / 2, h / 2}, {-w / 2, h / 2}},
                                   static_cast<std::size_t>(2 * (w + h)));
}

/// A straight chalk line of 80 mm through `middle`.
Stroke chalk(const Vec2& middle, const Vec2& along) {
  Stroke stroke;
  for (double t = -40; t <= 40; t += 1) stroke.points.push_back(middle + t * along);
  stroke.length = 80;
  stroke.width = 2;
  return stroke;
}

}  // namespace

// A rectangle's axis is known: what the line lies off it, and the angle between the two, must come back, however the panel lies.
TEST(FindCentreLine, TellsHowFarTheLineLiesOffTheOutlinesOwnAxis) {
  struct {
    double off, angle;
  } const cases[] = {{0, 0}, {3, 0}, {-4, 0.02}, {2, -0.05}};
  for (const double lies : {0.0, 0.4, 2.1}) {
    const geometry::Rigid2 turn{lies, Vec2(13, -7)}, only{lies, Vec2::Zero()};
    const geometry::ClosedOutline outline(geometry::moved(turn, rectangle(200, 100)));
    for (const auto& c : cases) {
      const Vec2 along = only * geometry::unit(M_PI / 2 + c.angle);
      const CentreLineResult found =
          find_centre_line({chalk(turn * Vec2(c.off, 0), along)}, outline, std::vector<bool>(1, false));
      ASSERT_TRUE(found.line) << c.off;
      // mm and rad; compared at 250 places, some 2.4 mm apart, whose chords cut the corners
      EXPECT_NEAR(found.off, std::abs(c.off) * std::cos(c.angle), 0.05) << c.off << " " << c.angle;
      EXPECT_NEAR(found.off_angle, std::abs(c.angle), 0.001) << c.off << " " << c.angle;
    }
  }
}

// A torn corner is no shape: it moves the axis by less than the chalk is fine.
TEST(FindCentreLine, ATornCornerIsNoDisagreement) {
  Polyline torn = rectangle(200, 100);
  for (Vec2& p : torn)
    if (p.x() > 88 && p.y() > 38) p -= Vec2(10, 10);
  const CentreLineResult found =
      find_centre_line({chalk({0, 0}, {0, 1})}, geometry::ClosedOutline(torn), std::vector<bool>(1, false));
  ASSERT_TRUE(found.line);
  EXPECT_LT(found.off, 0.12);
  EXPECT_LT(found.off_angle, 0.002);
}

}  // namespace chalkfold::trace
