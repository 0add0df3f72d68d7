// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/piece_dxf.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/output/dxf_reader.h"
#include "tests/output/flag_piece.h"

namespace chalkfold::output {

namespace {
using test::on_layer;
using test::read_dxf_entities;

constexpr double area_tolerance = 1e-4;  // relative, what the exchange files answer to

std::vector<std::string> texts_of(const std::vector<test::DxfEntity>& entities) {
  std::vector<std::string> words;
  for (const auto& text : on_layer(entities, "TEXT", "15")) words.push_back(text.text(1));
  return words;
}
}  // namespace

TEST(PieceDxf, IsOneBlockAndOneInsertOfIt) {
  const auto entities = read_dxf_entities(piece_dxf(test::flag_piece("seat top")));
  const auto inserts = on_layer(entities, "INSERT", "0");
  ASSERT_EQ(inserts.size(), 1u);
  EXPECT_EQ(inserts[0].text(2), "SEAT_TOP");
  EXPECT_EQ(inserts[0].at(), Vec2(0, 0));
  EXPECT_EQ(inserts[0].block, "");
  for (const auto& entity : entities) {
    if (entity.type != "INSERT") {
      EXPECT_EQ(entity.block, "SEAT_TOP") << entity.type;
    }
  }
}

TEST(PieceDxf, HoldsEveryLayer) {
  const auto entities = read_dxf_entities(piece_dxf(test::flag_piece()));
  for (const char* layer : {"1", "7", "8", "11", "14"})
    EXPECT_EQ(on_layer(entities, "POLYLINE", layer).size(), 1u) << layer;
  EXPECT_EQ(on_layer(entities, "POLYLINE", "4").size(), 2u);
  EXPECT_EQ(on_layer(entities, "POINT", "2").size(), 7u);
  EXPECT_EQ(on_layer(entities, "POINT", "13").size(), 1u);
  EXPECT_TRUE(on_layer(entities, "POLYLINE", "15").empty()) << "text is text here, not strokes";
  const double area = test::area_of(on_layer(entities, "POLYLINE", "1")[0]);
  EXPECT_NEAR(area, test::flag_area(), area_tolerance * test::flag_area());
}

TEST(PieceDxf, NamesThePieceAsTheStandardDoes) {
  const auto words = texts_of(read_dxf_entities(piece_dxf(test::flag_piece())));
  EXPECT_THAT(words, testing::IsSupersetOf({"Piece Name: flag", "Quantity: 2, one mirrored", "Material: vinyl",
                                            "Size: as measured", "Annotation: inside up", "Annotation: unit mm",
                                            "Annotation: job wagon"}));
  EXPECT_THAT(words, testing::Contains("cut 2, one mirrored"));
}

TEST(PieceDxf, ALabelStandsWhereAndAsItWasPlaced) {
  for (const auto& text : on_layer(read_dxf_entities(piece_dxf(test::flag_piece())), "TEXT", "15")) {
    if (text.text(1) != "2") continue;
    EXPECT_EQ(text.at(), Vec2(222, 56));
    EXPECT_EQ(text.number(50), 90);
    EXPECT_EQ(text.number(40), 5);
    return;
  }
  FAIL() << "no edge number";
}

TEST(PieceDxf, RemarksLieInsideThePieceAndOverNoLabel) {
  const Drawing drawing = with_remarks(drawing_of(test::flag_piece()));
  const std::size_t labels = test::flag_piece().labels.size();
  ASSERT_EQ(drawing.texts.size(), labels + drawing.remarks.size());
  for (std::size_t i = labels; i < drawing.texts.size(); ++i) {
    const Drawing::Text& remark = drawing.texts[i];
    const double length = draft::text_length(remark.words, remark.height);
    for (const Vec2& p : {remark.at, Vec2(remark.at + Vec2(length, remark.height))}) {
      EXPECT_TRUE(geometry::contains(drawing.lines[0].points, p)) << remark.words;
    }
    for (std::size_t k = 0; k < labels; ++k) {
      const Drawing::Text& label = drawing.texts[k];
      if (label.angle != 0) continue;
      const bool beside = label.at.x() > remark.at.x() + length ||
                          remark.at.x() > label.at.x() + draft::text_length(label.words, label.height);
      const bool above = label.at.y() > remark.at.y() + remark.height || remark.at.y() > label.at.y() + label.height;
      EXPECT_TRUE(beside || above) << remark.words << " over " << label.words;
    }
  }
}

TEST(PieceDxf, IsMirroredOnlyWhenTheFaceIsAskedFor) {
  for (const bool face : {false, true}) {
    const auto entities = read_dxf_entities(piece_dxf(test::flag_piece(), {face}));
    const Polyline boundary = on_layer(entities, "POLYLINE", "1")[0].points();
    EXPECT_GT(geometry::signed_area(boundary), 0);
    EXPECT_FALSE(geometry::contains(boundary, test::bay));
    EXPECT_EQ(geometry::contains(boundary, test::slant), face);
    EXPECT_EQ(geometry::contains(boundary, test::slant_mirrored), !face);
    EXPECT_THAT(texts_of(entities), testing::Contains(face ? "Annotation: face up" : "Annotation: inside up"));
  }
}

TEST(PieceDxf, NamesThatCouldBreakTheFileDoNot) {
  const std::string bytes =
      piece_dxf(test::flag_piece("R\xC3\xBC"
                                 "cken\r\n  0\r\nEOF %%d"));
  for (const char c : bytes) ASSERT_TRUE((c >= 0x20 && c < 0x7F) || c == '\r' || c == '\n');
  EXPECT_EQ(on_layer(read_dxf_entities(bytes), "INSERT", "0")[0].text(2), "R__CKEN____0__EOF___D");
}

}  // namespace chalkfold::output
