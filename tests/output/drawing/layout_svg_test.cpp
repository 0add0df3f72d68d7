// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/layout_svg.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <regex>

#include "pipeline/geometry/polygon.h"
#include "tests/output/flag_piece.h"

namespace chalkfold::output {
namespace {
using testing::HasSubstr;
using testing::Not;

constexpr double rounding = 1e-4;  // mm, four decimals are written

draft::MaterialNeed vinyl_need(const std::vector<draft::Piece>& pieces) {
  draft::MaterialOptions options;
  options.kind = draft::MaterialKind::woven;
  return draft::material_needs(pieces, {{"vinyl", options}}).at(0);
}

/// Points of the closed paths, as they stand in the picture (y down).
std::vector<Polyline> closed_paths(const std::string& svg) {
  std::vector<Polyline> out;
  const std::regex path("d=\"M([^\"Z]*) Z\"");
  for (auto at = std::sregex_iterator(svg.begin(), svg.end(), path); at != std::sregex_iterator(); ++at) {
    std::string numbers = std::regex_replace((*at)[1].str(), std::regex("L"), "");
    std::istringstream stream(numbers);
    Polyline line;
    for (double x = 0, y = 0; stream >> x >> y;) line.emplace_back(x, y);
    out.push_back(line);
  }
  return out;
}

/// Least distance of a corner of the box around a line from the line itself.
double off_corner(const Polyline& line, bool right, bool lower) {
  const geometry::Box box = geometry::bounding_box(line);
  return geometry::distance_to(line, {right ? box.max.x() : box.min.x(), lower ? box.max.y() : box.min.y()}, true);
}

TEST(LayoutSvg, DrawsEveryCopyWhereItLies) {
  const std::vector<draft::Piece> pieces = {test::flag_piece("flag"), test::flag_piece("banner")};
  const draft::MaterialNeed need = vinyl_need(pieces);
  const std::vector<Polyline> drawn = closed_paths(layout_svg(need, pieces));
  ASSERT_EQ(drawn.size(), 4u);
  const Vec2 shift = drawn[0][0] - geometry::y_down_from_y_up(
                                       draft::outline_on_roll(need.copies[0].asked, need.copies[0].place)[0], 1400);
  for (std::size_t i = 0; i < drawn.size(); ++i) {
    const Polyline laid = draft::outline_on_roll(need.copies[i].asked, need.copies[i].place);
    ASSERT_EQ(drawn[i].size(), laid.size());
    for (std::size_t k = 0; k < laid.size(); ++k)
      EXPECT_NEAR((drawn[i][k] - geometry::y_down_from_y_up(laid[k], 1400) - shift).norm(), 0, 2 * rounding);
  }
}

/// The flag's grain runs up the drawing and lies to the right on the roll, so its cut-off upper right corner comes to lie lower right in
/// the picture, and that of the mirror image upper right. Mirrored by mistake it would be the other way round.
TEST(LayoutSvg, IsNotMirrored) {
  const std::vector<draft::Piece> pieces = {test::flag_piece()};
  const draft::MaterialNeed need = vinyl_need(pieces);
  const std::vector<Polyline> drawn = closed_paths(layout_svg(need, pieces));
  ASSERT_EQ(drawn.size(), 2u);
  EXPECT_FALSE(need.copies[0].mirrored);
  constexpr double cut_off = 28;  // mm, 40 / sqrt 2
  EXPECT_GT(off_corner(drawn[0], true, true), cut_off);
  EXPECT_LT(off_corner(drawn[0], true, false), 1);
  EXPECT_TRUE(need.copies[1].mirrored);
  EXPECT_GT(off_corner(drawn[1], true, false), cut_off);
  EXPECT_LT(off_corner(drawn[1], true, true), 1);
}

TEST(LayoutSvg, NamesPiecesAndSaysWhatItIs) {
  std::vector<draft::Piece> pieces = {test::flag_piece("a <flag>")};
  const std::string svg = layout_svg(vinyl_need(pieces), pieces);
  EXPECT_THAT(svg, HasSubstr("1 a &lt;flag&gt;<"));
  EXPECT_THAT(svg, HasSubstr("1 a &lt;flag&gt;, mirrored<"));
  EXPECT_THAT(svg, HasSubstr("inside up"));
  EXPECT_THAT(svg, HasSubstr("not the best one"));
  EXPECT_THAT(svg, HasSubstr("1400 mm usable across"));
}

TEST(LayoutSvg, OfNothingThatFitsIsEmpty) {
  std::vector<draft::Piece> pieces = {test::flag_piece()};
  draft::MaterialOptions narrow;
  narrow.kind = draft::MaterialKind::woven;
  narrow.usable_width = 200;
  EXPECT_EQ(layout_svg(draft::material_needs(pieces, {{"vinyl", narrow}}).at(0), pieces), "");
}

}  // namespace
}  // namespace chalkfold::output
