// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/fringes.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "pipeline/geometry/polygon.h"
#include "tests/trace/drawn_panel.h"

namespace chalkfold::trace {
namespace {

using test::DrawnPanel;

const cv::Scalar panel_bgr(60, 50, 45);
constexpr double half_width = DrawnPanel::width / 2, half_height = DrawnPanel::height / 2;
constexpr double bump_from = 20, bump_to = 36, bump_height = 5;  // mm along the lower edge, mm outward
// mm: a followed boundary is good to half a millimetre, and so is the course read from it; the tuft stands off by ten times that.
constexpr double on_course = 0.5;

/// The drawn panel's outline as followed, with a bump outward from the lower edge.
Polyline followed_with_bump() {
  Polyline rectangle = {{-half_width, -half_height}, {bump_from, -half_height}};
  for (const double u : {0.15, 0.3, 0.5, 0.7, 0.85})
    rectangle.emplace_back(bump_from + u * (bump_to - bump_from),
                           -half_height - bump_height * std::sin(std::numbers::pi * u));
  for (const Vec2& p : {Vec2(bump_to, -half_height), Vec2(half_width, -half_height), Vec2(half_width, half_height),
                        Vec2(-half_width, half_height)})
    rectangle.push_back(p);
  return geometry::resample_closed(rectangle, static_cast<std::size_t>(geometry::length(rectangle, true)));
}

/// Farthest that the boundary stands out of the lower edge.
double standing_out(const Polyline& boundary) {
  double most = 0;
  for (const Vec2& p : boundary) most = std::max(most, -half_height - p.y());
  return most;
}

Polyline led(const DrawnPanel& drawn, const Polyline& followed) {
  const cv::Mat photo = drawn.photo();
  const survey::TableView view = drawn.view();
  const BoundarySampler sampler(photo, view, 0, 0.5);
  return without_fringes(sampler, followed);
}

/// Threads of 0.6 mm, two millimetres apart.
void tuft(DrawnPanel& drawn) {
  for (double x = bump_from + 1; x < bump_to; x += 2)
    drawn.stroke({{x, -half_height + 1}, {x + 1.5, -half_height - bump_height - 1}}, 0.6, panel_bgr);
}

TEST(WithoutFringes, LeadsStraightPastATuftOfThreads) {
  DrawnPanel drawn;
  tuft(drawn);
  const Polyline followed = followed_with_bump();
  ASSERT_GT(standing_out(followed), 0.9 * bump_height);
  EXPECT_LT(standing_out(led(drawn, followed)), on_course);
}

TEST(WithoutFringes, KeepsASolidTab) {
  DrawnPanel drawn;
  Polyline tab = {{bump_from, -half_height + 1}};
  for (double u = 0; u <= 1; u += 0.05)
    tab.emplace_back(bump_from + u * (bump_to - bump_from),
                     -half_height - bump_height * std::sin(std::numbers::pi * u));
  tab.emplace_back(bump_to, -half_height + 1);
  drawn.polygon(tab, panel_bgr);
  const Polyline followed = followed_with_bump();
  EXPECT_EQ(led(drawn, followed), followed);
}

TEST(WithoutFringes, KeepsABoundaryWhereAStripeIsOfTheTablesColour) {
  DrawnPanel drawn;
  tuft(drawn);
  for (double y = -half_height; y < half_height; y += 4)
    drawn.stroke({{-half_width + 1, y + 1.5}, {half_width - 1, y + 1.5}}, 1.8, drawn.table());
  const Polyline followed = followed_with_bump();
  EXPECT_EQ(led(drawn, followed), followed);
}

TEST(WithoutFringes, KeepsCorners) {
  const DrawnPanel drawn;
  Polyline followed = {
      {-half_width, -half_height}, {half_width, -half_height}, {half_width, half_height}, {-half_width, half_height}};
  followed = geometry::resample_closed(followed, static_cast<std::size_t>(geometry::length(followed, true)));
  EXPECT_EQ(led(drawn, followed), followed);
}

}  // namespace
}  // namespace chalkfold::trace
