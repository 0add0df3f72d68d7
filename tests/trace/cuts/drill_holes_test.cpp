// SPDX-License-Identifier: Apache-2.0
// Holes drawn at known places, and what only looks like one.
#include "pipeline/trace/cuts/drill_holes.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/trace/drawn_panel.h"

namespace chalkfold::trace {
namespace {

using test::DrawnPanel;

std::vector<panel::DrillHole> holes_of(const DrawnPanel& drawn, const std::vector<Stroke>& strokes = {},
                                       const std::vector<panel::NeedleRow>& rows = {}) {
  constexpr double noise = 1.5;  // of 255
  return find_drill_holes(panel_picture(drawn.photo(noise), drawn.view(), drawn.panel(), 0), strokes, rows);
}

TEST(DrillHoles, PlaceAndDiameterOverTheWholeRange) {
  for (const double diameter : {2.0, 3.0, 4.0, 5.0, 6.0}) {
    DrawnPanel drawn;
    const Vec2 at(12.3, -7.1);
    drawn.disc(at, diameter, drawn.table());
    const auto holes = holes_of(drawn);
    ASSERT_EQ(holes.size(), 1u) << diameter;
    EXPECT_LT((holes[0].centre - at).norm(), 2 * holes[0].sigma) << diameter;
    EXPECT_LT(holes[0].sigma, 0.3) << diameter;
    EXPECT_NEAR(holes[0].diameter, diameter, 0.6) << "mm: a px of the picture";
  }
}

TEST(DrillHoles, AreGivenFromLeftToRight) {
  DrawnPanel drawn;
  for (const double x : {60.0, -70.0, 5.0}) drawn.disc({x, x / 3}, 4, drawn.table());
  const auto holes = holes_of(drawn);
  ASSERT_EQ(holes.size(), 3u);
  EXPECT_LT(holes[0].centre.x(), holes[1].centre.x());
  EXPECT_LT(holes[1].centre.x(), holes[2].centre.x());
}

struct Look {
  const char* what;
  /// mm: the middles of what is drawn, its length along x and its width
  std::vector<Vec2> at;
  double length, width;
  cv::Scalar bgr;
};

TEST(DrillHoles, WhatIsNone) {
  const cv::Scalar table = DrawnPanel().table();
  const std::vector<Look> looks = {{"a cut-out", {{0, 0}}, 0, 9, table},
                                   {"a slot", {{0, 0}}, 4, 2.5, table},
                                   {"lighter than the table", {{0, 0}}, 0, 4, {250, 250, 250}},
                                   {"of another colour than the table", {{0, 0}}, 0, 4, {190, 60, 60}},
                                   {"not alone", {{-3.5, 0}, {0, 0}, {3.5, 0}}, 0, 3, table}};
  for (const Look& look : looks) {
    DrawnPanel drawn;
    for (const Vec2& at : look.at) {
      const Vec2 half(look.length / 2, 0);
      drawn.disc(at - half, look.width, look.bgr);
      drawn.disc(at + half, look.width, look.bgr);
      if (look.length > 0) drawn.stroke({at - half, at + half}, look.width, look.bgr);
    }
    EXPECT_TRUE(holes_of(drawn).empty()) << look.what;
  }
}

TEST(DrillHoles, OneOnANeedleRowOrBesideAStrokeIsTheirs) {
  DrawnPanel drawn;
  drawn.disc({0, 0}, 3, drawn.table());
  panel::NeedleRow row;
  for (double x = -30; x <= 30; x += 5) row.points.emplace_back(x, 0.5);
  EXPECT_TRUE(holes_of(drawn, {}, {row}).empty());
  for (Vec2& p : row.points) p.y() += 8;
  EXPECT_EQ(holes_of(drawn, {}, {row}).size(), 1u) << "8 mm beside it";
  Stroke stroke;
  stroke.width = 2;
  for (double x = -30; x <= 30; x += 2) stroke.points.emplace_back(x, 4);
  EXPECT_TRUE(holes_of(drawn, {stroke}, {}).empty()) << "a crumb of its chalk";
  for (Vec2& p : stroke.points) p.y() += 8;
  EXPECT_EQ(holes_of(drawn, {stroke}, {}).size(), 1u);
}

}  // namespace
}  // namespace chalkfold::trace
