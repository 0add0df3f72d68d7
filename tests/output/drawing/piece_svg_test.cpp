// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/piece_svg.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <sstream>

#include "tests/output/flag_piece.h"

namespace chalkfold::output {

namespace {
using testing::HasSubstr;
using testing::Not;

/// Points of the first path of layer 1, turned back to y up.
Polyline boundary_of(const std::string& svg) {
  const std::size_t group = svg.find("id=\"layer-1\""), from = svg.find(" d=\"M", group) + 5,
                    to = svg.find(" Z\"", from);
  if (group == std::string::npos || to == std::string::npos) throw std::logic_error("no closed boundary");
  std::istringstream words(svg.substr(from, to - from));
  Polyline points;
  for (std::string x, y; words >> x >> y;)
    points.emplace_back(std::stod(x[0] == 'L' ? x.substr(1) : x) - 10, test::flag_height + 10 - std::stod(y));
  return points;
}
}  // namespace

TEST(PieceSvg, IsAtTrueScaleInMillimetres) {
  EXPECT_THAT(piece_svg(test::flag_piece()),
              HasSubstr("width=\"260.0000mm\" height=\"170.0000mm\" viewBox=\"0 0 260.0000 170.0000\""));
}

TEST(PieceSvg, HasAGroupALayerAndNoFillNorText) {
  const std::string svg = piece_svg(test::flag_piece());
  for (const int layer : {1, 2, 4, 7, 8, 11, 13, 14, 15})
    EXPECT_THAT(svg, HasSubstr("<g id=\"layer-" + std::to_string(layer) + "\" fill=\"none\""));
  EXPECT_THAT(svg, Not(HasSubstr("layer-6\""))) << "no axis, no mirror line";
  EXPECT_THAT(svg, Not(HasSubstr("<text")));
  EXPECT_THAT(svg, HasSubstr("Piece Name: flag; Quantity: 2, one mirrored"));
}

TEST(PieceSvg, SewLineByOption) {
  EXPECT_THAT(piece_svg(test::flag_piece(), {.sew_line = false}), Not(HasSubstr("layer-14\"")));
}

TEST(PieceSvg, IsMirroredOnlyWhenTheFaceIsAskedFor) {
  for (const bool face : {false, true}) {
    const std::string svg = piece_svg(test::flag_piece(), {face});
    const Polyline boundary = boundary_of(svg);
    EXPECT_GT(geometry::signed_area(boundary), 0);
    EXPECT_FALSE(geometry::contains(boundary, test::bay));
    EXPECT_EQ(geometry::contains(boundary, test::slant), face);
    EXPECT_EQ(geometry::contains(boundary, test::slant_mirrored), !face);
    EXPECT_THAT(svg, HasSubstr(face ? "Annotation: face up" : "Annotation: inside up"));
  }
}

TEST(PieceSvg, AnUndirectedGrainLineHasTwoHeads) {
  draft::Piece piece = test::flag_piece();
  EXPECT_EQ(grain_heads(piece).size(), 1u);
  EXPECT_EQ(grain_heads(piece)[0][1], (*piece.grain)[1]);
  piece.grain_directed = false;
  EXPECT_EQ(grain_heads(piece).size(), 2u);
  piece.grain.reset();
  EXPECT_TRUE(grain_heads(piece).empty());
}

}  // namespace chalkfold::output
