// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/set_drawing.h"

#include <gtest/gtest.h>

#include <set>

#include "tests/output/dxf_reader.h"
#include "tests/output/flag_piece.h"

namespace chalkfold::output {

namespace {
using test::on_layer;
using test::read_dxf_entities;

constexpr double rounding = 1e-9;  // mm

draft::Piece rectangle(const std::string& name, double width, double height, int quantity) {
  draft::Piece piece;
  piece.name = name;
  piece.quantity = quantity;
  piece.cut_line = {{5, 5}, {5 + width, 5}, {5 + width, 5 + height}, {5, 5 + height}};
  for (std::size_t i = 0; i < 4; ++i)
    piece.cut.push_back(test::line_segment(piece.cut_line[i], piece.cut_line[(i + 1) % 4]));
  return piece;
}

std::vector<draft::Piece> sample_set() {
  return {rectangle("strip", 300, 40, 3), test::flag_piece(), rectangle("square", 100, 100, 1),
          rectangle("flag", 20, 10, 1)};
}
}  // namespace

TEST(SetDrawing, RepeatsQuantitiesHighestFirstAndMirrorsOne) {
  const auto places = set_places(sample_set());
  std::vector<std::size_t> order;
  int mirrored = 0;
  for (const SetPlace& place : places) {
    order.push_back(place.piece);
    mirrored += place.mirrored ? 1 : 0;
  }
  EXPECT_EQ(order, (std::vector<std::size_t>{1, 1, 2, 0, 0, 0, 3}));
  EXPECT_EQ(mirrored, 1);
  EXPECT_FALSE(places[0].mirrored);
  EXPECT_TRUE(places[1].mirrored);
}

TEST(SetDrawing, PiecesAreAGapApart) {
  const SetOptions options{.drawing = {}, .gap = 20, .row_width = 600};
  const auto places = set_places(sample_set(), options);
  std::set<double> rows;
  for (std::size_t i = 0; i < places.size(); ++i) {
    rows.insert(places[i].at.y());
    EXPECT_LE(places[i].box.max.x(), 600 + rounding);
    for (std::size_t k = 0; k < i; ++k) {
      const Vec2 apart = (places[i].box.min - places[k].box.max).cwiseMax(places[k].box.min - places[i].box.max);
      EXPECT_GE(apart.maxCoeff(), 20 - rounding) << i << " and " << k;
    }
  }
  EXPECT_GT(rows.size(), 1u);
}

TEST(SetDrawing, APieceWiderThanARowHasARowOfItsOwn) {
  const auto places = set_places({rectangle("long", 900, 30, 2)}, {.drawing = {}, .row_width = 500});
  ASSERT_EQ(places.size(), 2u);
  EXPECT_NEAR((places[1].at - Vec2(0, 50)).norm(), 0, rounding);
}

TEST(SetDrawing, AnEmptySetIsAnEmptyDrawing) {
  EXPECT_TRUE(set_places({}).empty());
  EXPECT_TRUE(read_dxf_entities(set_dxf({})).empty());
  EXPECT_NE(set_svg({}).find("</svg>"), std::string::npos);
}

TEST(SetDrawing, DxfHasABlockAPieceAndAnInsertACopy) {
  const auto entities = read_dxf_entities(set_dxf(sample_set()));
  std::set<std::string> blocks;
  for (const auto& boundary : on_layer(entities, "POLYLINE", "1")) EXPECT_TRUE(blocks.insert(boundary.block).second);
  EXPECT_EQ(blocks, (std::set<std::string>{"1-STRIP", "2-FLAG", "2-FLAG-M", "3-SQUARE", "4-FLAG"}));
  const auto inserts = on_layer(entities, "INSERT", "0");
  const auto places = set_places(sample_set());
  ASSERT_EQ(inserts.size(), places.size());
  for (std::size_t i = 0; i < places.size(); ++i) {
    EXPECT_LT((inserts[i].at() - places[i].at).norm(), 1e-4) << "four decimals are written";
    EXPECT_TRUE(blocks.count(inserts[i].text(2)));
    for (const int scale : {41, 42, 43})
      EXPECT_EQ(inserts[i].text(scale), "") << "no scale, least of all a negative one";
  }
}

TEST(SetDrawing, TheMirroredCopyIsTheMirrorImage) {
  for (const bool face : {false, true}) {
    const auto entities = read_dxf_entities(set_dxf({test::flag_piece()}, {.drawing = {.face = face}}));
    for (const auto& line : on_layer(entities, "POLYLINE", "1")) {
      const bool mirrored = line.block == "1-FLAG-M";
      const Polyline points = line.points();
      EXPECT_GT(geometry::signed_area(points), 0);
      EXPECT_FALSE(geometry::contains(points, test::bay));
      EXPECT_EQ(geometry::contains(points, test::slant), face != mirrored) << line.block;
      EXPECT_EQ(geometry::contains(points, test::slant_mirrored), face == mirrored) << line.block;
    }
  }
}

TEST(SetDrawing, SvgHasTheSamePlacesAsTheDxf) {
  const std::vector<draft::Piece> pieces = sample_set();
  const Drawing drawing = set_drawing(pieces);
  const auto places = set_places(pieces);
  std::vector<geometry::Box> boxes;
  for (const Drawing::Line& line : drawing.lines) {
    if (line.layer == Layer::boundary) boxes.push_back(geometry::bounding_box(line.points));
  }
  ASSERT_EQ(boxes.size(), places.size());
  for (std::size_t i = 0; i < boxes.size(); ++i) {
    EXPECT_LT((boxes[i].min - places[i].box.min).norm(), rounding);
    EXPECT_LT((boxes[i].max - places[i].box.max).norm(), rounding);
  }
  for (const bool face : {false, true}) {
    const Drawing flags = set_drawing({test::flag_piece()}, {.drawing = {.face = face}, .row_width = 10});
    const auto& first = flags.lines.front();
    EXPECT_EQ(geometry::contains(first.points, test::slant), face);
    EXPECT_EQ(geometry::contains(first.points, test::slant_mirrored), !face);
  }
}

}  // namespace chalkfold::output
