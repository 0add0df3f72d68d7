// SPDX-License-Identifier: Apache-2.0
// Outlines drawn with a notch, a tab or a bare corner; what is led across and what is left.
#include "pipeline/trace/cuts/outline_excursion.h"

#include <gtest/gtest.h>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::trace {
namespace {

constexpr double place = 1.1;  // mm: mouths are sought at steps of a millimetre

/// A panel of 200 x 120 mm, counter-clockwise from (0, 0), with `course` put into its lower edge, a point every millimetre.
panel::Contour panel_with(const Polyline& course) {
  Polyline corners = {{0, 0}};
  corners.insert(corners.end(), course.begin(), course.end());
  corners.insert(corners.end(), {{200, 0}, {200, 120}, {0, 120}});
  panel::Contour out;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const Vec2 a = corners[i], d = corners[(i + 1) % corners.size()] - a;
    const int count = std::max(1, static_cast<int>(std::lround(d.norm())));
    for (int k = 0; k < count; ++k) out.points.push_back(a + d * (static_cast<double>(k) / count));
  }
  out.sigma.assign(out.points.size(), 0.05);
  out.U.assign(out.points.size(), 0.1);
  return out;
}

panel::Contour led(const panel::Contour& c) {
  return led_across(c, find_excursions(geometry::ClosedOutline(c.points)));
}

}  // namespace

TEST(OutlineExcursion, ALargeVIsLedAcrossAtItsMouth) {
  const panel::Contour drawn = panel_with({{80, 0}, {84, 8}, {88, 0}});
  const auto found = find_excursions(geometry::ClosedOutline(drawn.points));
  ASSERT_EQ(found.size(), 1u);
  EXPECT_LT((found[0].mouth_from - Vec2(80, 0)).norm(), place);
  EXPECT_LT((found[0].mouth_to - Vec2(88, 0)).norm(), place);
  const panel::Contour straight = led(drawn);
  for (const Vec2& p : straight.points)
    EXPECT_TRUE(p.x() < 70 || p.x() > 100 || p.y() > 100 || std::abs(p.y()) < 0.5) << p.transpose();
  EXPECT_NEAR(std::abs(geometry::signed_area(straight.points)), 200 * 120,
              6);  // mm2: a millimetre of the V's mouth at either side
  EXPECT_EQ(straight.sigma.size(), straight.points.size());
  EXPECT_EQ(straight.U.size(), straight.points.size());
}

TEST(OutlineExcursion, ANotchOverTheFirstPointToo) {
  panel::Contour drawn = panel_with({{80, 0}, {84, 8}, {88, 0}});
  std::rotate(drawn.points.begin(), drawn.points.begin() + 85, drawn.points.end());
  const panel::Contour straight = led(drawn);
  EXPECT_NEAR(std::abs(geometry::signed_area(straight.points)), 200 * 120, 6);
}

TEST(OutlineExcursion, CornersStepsAndWideBaysStay) {
  for (const Polyline& course : {Polyline{}, Polyline{{80, 0}, {80, -5}, {198, -5}},
                                 Polyline{{60, 0}, {70, 9}, {100, 9}, {110, 0}}, Polyline{{80, 0}, {84, 1}, {88, 0}}}) {
    const panel::Contour drawn = panel_with(course);
    EXPECT_TRUE(find_excursions(geometry::ClosedOutline(drawn.points)).empty()) << course.size();
    EXPECT_EQ(led(drawn).points.size(), drawn.points.size());
  }
}

}  // namespace chalkfold::trace
