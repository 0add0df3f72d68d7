// SPDX-License-Identifier: Apache-2.0
// Rings drawn at known places on a plain panel, found in its photo.
#include "pipeline/trace/chalk/chalk_lines.h"

#include <gtest/gtest.h>

#include <cmath>

#include "pipeline/geometry/polygon.h"
#include "tests/trace/drawn_panel.h"

namespace chalkfold::trace {
namespace {

using test::DrawnPanel;
const cv::Scalar chalk(225, 228, 226), faint(72, 62, 57);  // the faint one is 12 grey steps lighter than the panel
constexpr double place = 0.5;                              // mm
constexpr double area_share = 0.05;                        // as a hide's rings are held to

Polyline circle(const Vec2& centre, double radius, double gap = 0) {
  Polyline line;
  const double from = gap / radius / 2, to = 2 * M_PI - from;
  constexpr int count = 120;
  for (int k = 0; k <= count; ++k) {
    const double angle = from + (to - from) * k / count;
    line.push_back(centre + radius * Vec2(std::cos(angle), std::sin(angle)));
  }
  return line;
}

panel::Panel with_flaws(const DrawnPanel& drawn, double noise = 1.5) {
  panel::Panel panel = drawn.panel();
  TraceOptions options;
  options.thickness = options.paper_thickness;  // drawn in the plane z = 0
  set_flaws(panel, find_chalk_lines(panel, test::photo_of(drawn.photo(noise)), drawn.view(), options), "drawn.png");
  return panel;
}

void expect_ring(const panel::Panel& panel, const Vec2& centre, double outer_radius) {
  const panel::Flaw* nearest = nullptr;
  for (const panel::Flaw& flaw : panel.flaws)
    if (!nearest ||
        (geometry::centroid(flaw.ring) - centre).norm() < (geometry::centroid(nearest->ring) - centre).norm())
      nearest = &flaw;
  ASSERT_TRUE(nearest) << centre.transpose();
  EXPECT_LT((geometry::centroid(nearest->ring) - centre).norm(), place);
  const double area = M_PI * outer_radius * outer_radius;
  EXPECT_NEAR(geometry::signed_area(nearest->ring), area, area_share * area) << centre.transpose();
}

}  // namespace

TEST(ChalkLines, RingsOfEverySizeAndChalkAreFound) {
  for (const cv::Scalar& colour : {chalk, faint}) {
    DrawnPanel drawn;
    drawn.stroke(circle({-90, 40}, 20), 2.2, colour);
    drawn.stroke(circle({60, -10}, 70), 2.6, colour);
    drawn.stroke(circle({-85, -50}, 35, 6), 2, colour);
    const panel::Panel panel = with_flaws(drawn);
    ASSERT_EQ(panel.flaws.size(), 3u) << colour[0];
    EXPECT_TRUE(panel.faults.empty());
    expect_ring(panel, {-90, 40}, 21.1);
    expect_ring(panel, {60, -10}, 71.3);
    expect_ring(panel, {-85, -50}, 36);
  }
}

TEST(ChalkLines, AnOpenRingIsToldAndNotCounted) {
  DrawnPanel drawn;
  drawn.stroke(circle({0, 0}, 40, 22), 2.2, chalk);
  const panel::Panel panel = with_flaws(drawn);
  EXPECT_TRUE(panel.flaws.empty());
  ASSERT_EQ(panel.faults.size(), 1u);
  EXPECT_EQ(panel.faults[0].code, "ring-open");
}

TEST(ChalkLines, NothingIsInventedOnABlankPanelNorOfLines) {
  EXPECT_TRUE(with_flaws(DrawnPanel(), 2.5).flaws.empty());
  DrawnPanel drawn;
  drawn.stroke({{-100, -60}, {90, -40}}, 2, chalk);
  drawn.stroke({{-100, -50}, {90, -30}}, 2, chalk);
  drawn.stroke({{-20, -100}, {-10, 100}}, 2, chalk);
  // Beside the edge all round, as a halo or a fold shows.
  constexpr double w = DrawnPanel::width / 2 - 2.5, h = DrawnPanel::height / 2 - 2.5;
  drawn.stroke({{-w, -h}, {w, -h}, {w, h}, {-w, h}, {-w, -h}}, 1.5, chalk);
  EXPECT_TRUE(with_flaws(drawn).flaws.empty());
}

}  // namespace chalkfold::trace
