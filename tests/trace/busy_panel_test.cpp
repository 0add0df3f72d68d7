// SPDX-License-Identifier: Apache-2.0
// A checked panel of the table's own colours on average.
#include <gtest/gtest.h>

#include <opencv2/imgproc.hpp>

#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/trace.h"
#include "tests/trace/drawn_panel.h"

namespace chalkfold::trace {
namespace {

using test::DrawnPanel;

constexpr double half_width = DrawnPanel::width / 2, half_height = DrawnPanel::height / 2;

/// A check on a table of its middle tone: cells of `cell` mm, half of them that tone.
DrawnPanel checked(double cell) {
  const cv::Scalar dark(45, 42, 40), middle(66, 63, 61), light(92, 88, 84);
  DrawnPanel drawn(middle, middle);
  const auto band = [](int i) { return (i % 2 + 2) % 2; };
  for (int j = 0; - half_height + j * cell < half_height; ++j) {
    for (int i = 0; - half_width + i * cell < half_width; ++i) {
      if (band(i) + band(j) == 1) continue;
      const Vec2 low(-half_width + i * cell, -half_height + j * cell);
      const Vec2 high = (low + Vec2(cell, cell)).cwiseMin(Vec2(half_width, half_height));
      drawn.polygon({low, {high.x(), low.y()}, high, {low.x(), high.y()}}, band(i) == 0 ? dark : light);
    }
  }
  return drawn;
}

TraceResult traced(const DrawnPanel& drawn) {
  capture::Photo photo;
  photo.bgr = drawn.photo();
  return trace_panels(photo, capture::Sighting{}, drawn.view());
}

TEST(BusyPanel, ACheckOfTheTablesOwnColourIsFoundByItsPattern) {
  constexpr double cell = 13;  // mm
  const TraceResult result = traced(checked(cell));
  ASSERT_EQ(result.panels.size(), 1u);
  const panel::Panel& panel = result.panels.front();
  // Half the outline runs along cells that are the table's own colour: what is asked is that U says how far off it may be, and is less than a cell's quarter.
  EXPECT_LT(panel.U_median, 0.25 * cell);
  const double size_error = 2 * panel.U_median;  // two sides
  EXPECT_NEAR(panel.extent.x(), DrawnPanel::width, size_error);
  EXPECT_NEAR(panel.extent.y(), DrawnPanel::height, size_error);
  std::size_t covered = 0;
  for (std::size_t i = 0; i < panel.outline.points.size(); ++i) {
    const Vec2 p = panel.outline.points[i].cwiseAbs();
    const double off = std::max(p.x() - half_width, p.y() - half_height);
    covered += std::abs(off) <= panel.outline.U[i];
  }
  EXPECT_GT(covered, 95 * panel.outline.points.size() / 100);
}

TEST(BusyPanel, ABareTableShowsNone) {
  const cv::Scalar table(66, 63, 61);
  const TraceResult result = traced(DrawnPanel(table, table));
  EXPECT_TRUE(result.panels.empty());
  EXPECT_TRUE(has_refusal(result.faults));
}

TEST(BusyPanel, AToolsOutlineIsNoPattern) {
  const cv::Scalar table(66, 63, 61), steel(150, 150, 150);
  DrawnPanel drawn(table, table);
  drawn.stroke({{-80, 0}, {60, 10}}, 10, steel);
  drawn.stroke({{-80, 15}, {60, -10}}, 10, steel);
  EXPECT_TRUE(traced(drawn).panels.empty());
}

}  // namespace
}  // namespace chalkfold::trace
