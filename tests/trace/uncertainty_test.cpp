// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/uncertainty.h"

#include <gtest/gtest.h>

#include <numbers>

#include "pipeline/geometry/polygon.h"

namespace chalkfold {
namespace {

TEST(FillNumbers, TheExtentOfAPanelIsTheSameHoweverItLies) {
  for (const double turned_deg : {0.0, 0.125, 17.3, 45.0, 90.1}) {
    Panel panel;
    panel.outline.points = moved(Rigid2{turned_deg * std::numbers::pi / 180, {30, -20}},
                                 {{0, 0}, {600, 0}, {600, 450}, {300, 400}, {0, 450}});
    panel.outline.sigma = panel.outline.U = {0.1, 0.1, 0.1, 0.1, 0.1};
    fill_numbers(panel);
    EXPECT_NEAR(panel.extent.x(), 600, 1e-9) << turned_deg;
    EXPECT_NEAR(panel.extent.y(), 450, 1e-9) << turned_deg;
    EXPECT_NEAR(panel.perimeter, 600 + 2 * 450 + 2 * std::hypot(300, 50), 1e-9);
  }
}

}  // namespace
}  // namespace chalkfold
