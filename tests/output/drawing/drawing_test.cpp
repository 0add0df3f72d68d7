// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/drawing.h"

#include <gtest/gtest.h>

#include "pipeline/geometry/polygon.h"
#include "tests/output/flag_panel.h"
#include "tests/output/ringed_flag.h"

namespace chalkfold::output {

namespace {
constexpr double rounding = 1e-9;  // mm; a shift by a few metres costs no more than this
}

TEST(Drawing, IsShiftedToItsCornerAndNotMirrored) {
  const panel::Panel panel = test::flag_panel();
  const Drawing drawing = drawing_of(panel);
  ASSERT_EQ(drawing.lines.size(), 2u);
  EXPECT_EQ(drawing.lines[0].layer, Layer::boundary);
  EXPECT_EQ(drawing.lines[1].layer, Layer::cutouts);
  EXPECT_NEAR(drawing.box.min.norm(), 0, rounding);
  EXPECT_NEAR((drawing.box.max - Vec2(200, 120)).norm(), 0, rounding);
  for (std::size_t i = 0; i < panel.outline.points.size(); ++i) {
    EXPECT_NEAR((drawing.lines[0].points[i] + panel_origin(panel) - panel.outline.points[i]).norm(), 0, rounding)
        << "point " << i;
  }
  EXPECT_FALSE(geometry::contains(drawing.lines[0].points, test::flag_notch));
  EXPECT_TRUE(geometry::contains(drawing.lines[0].points, test::flag_notch_mirrored));
}

TEST(Drawing, SaysWhatOneMustKnow) {
  std::string all;
  for (const Drawing::Text& text : drawing_of(test::flag_panel("seat top")).texts) all += text.words + "|";
  EXPECT_EQ(all, "seat top|unit mm|side as photographed|thickness 1.2 mm, U 0.25 mm|");
}

TEST(Drawing, RefusesAPanelWithoutAnOutline) { EXPECT_THROW(drawing_of(panel::Panel{}), std::logic_error); }

TEST(MmText, FourDecimalsAndNoMinusZero) {
  EXPECT_EQ(mm_text(12.34567), "12.3457");
  EXPECT_EQ(mm_text(-0.00001), "0.0000");
  EXPECT_EQ(mm_text(-1.5), "-1.5000");
}

TEST(Drawing, FlawsOfAHideAreCutOutsWithTheirNumbersAndNotMirrored) {
  const panel::Panel hide = test::ringed_flag();
  const Drawing drawing = drawing_of(hide);
  ASSERT_EQ(drawing.lines.size(), 4u);
  EXPECT_EQ(drawing.lines[1].layer, Layer::internal) << "a hole within a flaw would read as material";
  for (const std::size_t i : {2U, 3U}) {
    EXPECT_EQ(drawing.lines[i].layer, Layer::cutouts);
    EXPECT_TRUE(drawing.lines[i].closed);
    EXPECT_NEAR(geometry::signed_area(drawing.lines[i].points), -40 * 40, 1e-6) << "clockwise, as cut-outs run";
  }
  EXPECT_NEAR((geometry::bounding_box(drawing.lines[3].points).min - Vec2(120, 60)).norm(), 0, rounding);
  std::string words;
  for (const Drawing::Text& text : drawing.texts) words += text.words + "\n";
  EXPECT_NE(words.find("flaw 1\n"), std::string::npos);
  EXPECT_NE(words.find("flaw 2\n"), std::string::npos);
  EXPECT_NE(words.find("hide, usable 0.0207 m2"), std::string::npos) << words;
  EXPECT_NE(words.find("face up, as photographed"), std::string::npos);
}

}  // namespace chalkfold::output
