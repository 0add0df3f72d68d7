// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/uncertainty.h"

#include <gtest/gtest.h>

#include <numbers>

#include "pipeline/geometry/polygon.h"

namespace chalkfold::trace {
namespace {

TEST(FillNumbers, TheExtentOfAPanelIsTheSameHoweverItLies) {
  for (const double turned_deg : {0.0, 0.125, 17.3, 45.0, 90.1}) {
    panel::Panel panel;
    panel.outline.points = geometry::moved(geometry::Rigid2{turned_deg * std::numbers::pi / 180, {30, -20}},
                                           {{0, 0}, {600, 0}, {600, 450}, {300, 400}, {0, 450}});
    panel.outline.sigma = panel.outline.U = {0.1, 0.1, 0.1, 0.1, 0.1};
    fill_numbers(panel);
    EXPECT_NEAR(panel.extent.x(), 600, 1e-9) << turned_deg;
    EXPECT_NEAR(panel.extent.y(), 450, 1e-9) << turned_deg;
    EXPECT_NEAR(panel.perimeter, 600 + 2 * 450 + 2 * std::hypot(300, 50), 1e-9);
  }
}

/// A rectangle with a point every millimetre; the edge is doubtful (2 sigma of 1.4 mm) over its first `doubtful` mm.
panel::Panel rectangle_with_doubt(double doubtful) {
  panel::Panel panel;
  panel.outline.points = geometry::resample_closed({{0, 0}, {600, 0}, {600, 400}, {0, 400}}, 2000);
  panel.outline.sigma.assign(2000, 0.05);
  std::fill_n(panel.outline.sigma.begin(), std::lround(doubtful), 0.7);
  panel.outline.U.assign(2000, 2.5);  // sheets whose check bars nobody measured
  panel.perimeter = 2000;
  return panel;
}

TEST(DoubtfulStretch, IsToldOfTheEdgeAloneAndNamesItsPlace) {
  panel::Panel panel = rectangle_with_doubt(60);
  add_doubtful_stretch(panel, "one.jpg");
  ASSERT_EQ(panel.faults.size(), 1U);
  EXPECT_EQ(panel.faults[0].code, "outline-doubtful");
  EXPECT_NE(panel.faults[0].seen.find("over 60 mm"), std::string::npos) << panel.faults[0].seen;
  EXPECT_NE(panel.faults[0].seen.find("by up to 1.4 mm"), std::string::npos) << panel.faults[0].seen;
}

TEST(DoubtfulStretch, NeitherANickNorTheSurveyIsOne) {
  for (const double doubtful : {0.0, 30.0}) {
    panel::Panel panel = rectangle_with_doubt(doubtful);
    add_doubtful_stretch(panel, "one.jpg");
    EXPECT_TRUE(panel.faults.empty()) << doubtful;
  }
}

TEST(Disagreement, UReachesFromAThreadsLoopToTheOutlineThatTheOtherWitnessHas) {
  const Polyline square{{0, 0}, {100, 0}, {100, 100}, {0, 100}};
  panel::Contour contour;
  contour.points = {
      {50, 0.5}, {50, -3}, {108, 50}, {50, 30}};  // on it, a border's width off, a loop, the bottom of a slot
  contour.U = {0.2, 0.2, 0.6, 0.2};
  add_disagreement(contour, square, 4);
  EXPECT_DOUBLE_EQ(contour.U[0], 0.2);
  EXPECT_DOUBLE_EQ(contour.U[1], 0.2);
  EXPECT_DOUBLE_EQ(contour.U[2], std::hypot(0.6, 8));
  EXPECT_DOUBLE_EQ(contour.U[3], 0.2);
  add_disagreement(contour, {}, 4);
  EXPECT_DOUBLE_EQ(contour.U[1], 0.2);
}

}  // namespace
}  // namespace chalkfold::trace
