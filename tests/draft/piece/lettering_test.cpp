// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/lettering.h"

#include <gtest/gtest.h>

#include <numbers>
#include <set>

#include "pipeline/common/utf8.h"
#include "pipeline/draft/piece/letter_shapes.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::draft {

namespace {
constexpr double rounding = 1e-9;  // mm

PieceLabel label(const std::string& words, double height = 9) { return {words, Vec2(3, -2), height, 0, 0}; }

geometry::Box box_of(const std::vector<Polyline>& strokes) {
  geometry::Box box;
  for (const Polyline& stroke : strokes) {
    for (const Vec2& p : stroke) box.add(p);
  }
  return box;
}

/// Everything drawn, in words that can be compared.
std::vector<std::pair<double, double>> points_of(const std::string& words) {
  std::vector<std::pair<double, double>> points;
  for (const Polyline& stroke : strokes_of(label(words))) {
    for (const Vec2& p : stroke) points.emplace_back(p.x(), p.y());
  }
  return points;
}
}  // namespace

TEST(Lettering, EveryAsciiLetterHasAShapeOfItsOwn) {
  std::set<std::vector<std::pair<double, double>>> seen;
  const auto box = points_of("\xE5\xBA\xA7");
  for (char c = '!'; c <= '~'; ++c) {
    if (c == '$' || c == '@' || c == '^' || c == '`') continue;  // boxes, as the header says of anything else
    const auto points = points_of(std::string(1, c));
    EXPECT_NE(points, box) << c;
    EXPECT_TRUE(seen.insert(points).second) << c << " looks like another letter";
  }
}

TEST(Lettering, ShapesAreInOrderAndInsideTheirFrame) {
  char32_t last = 0;
  for (const LetterShape& shape : letter_shapes()) {
    EXPECT_GT(shape.letter, last);
    last = shape.letter;
    const std::string words = utf8_from(std::u32string(1, shape.letter));
    const std::vector<Polyline> strokes = strokes_of(label(words));
    const geometry::Box box = box_of(strokes);
    EXPECT_GE(box.min.x(), 3 - rounding) << words;
    EXPECT_LE(box.max.x(), 3 + text_length(words, 9) + rounding) << words;
    EXPECT_GE(box.min.y(), -2 - 9 * letter_descent - rounding) << words;
    EXPECT_LE(box.max.y(), -2 + 9 * letter_ascent + rounding) << words;
    for (const Polyline& stroke : strokes) EXPECT_GE(stroke.size(), 2u) << words;
  }
}

TEST(Lettering, CapitalsAreAsHighAsAsked) {
  for (char c = 'A'; c <= 'Z'; ++c) {
    const geometry::Box box = box_of(strokes_of(label(std::string(1, c), 7.5)));
    EXPECT_NEAR(box.min.y(), -2, rounding) << c;
    EXPECT_NEAR(box.max.y(), -2 + 7.5, rounding) << c;
  }
}

TEST(Lettering, LengthIsThatOfTheStrokes) {
  for (const std::string words : {"cut 2, one mirrored", "HO",
                                  "R\xC3\xBC"
                                  "cken"}) {
    EXPECT_NEAR(box_of(strokes_of(label(words, 8))).max.x() - 3, text_length(words, 8), rounding) << words;
  }
  EXPECT_EQ(text_length("", 8), 0);
  EXPECT_TRUE(strokes_of(label("")).empty());
}

TEST(Lettering, ComposedAndCombiningAccentsAreAlike) {
  EXPECT_EQ(points_of("\xC3\xA9"), points_of("e\xCC\x81"));
  EXPECT_EQ(points_of("\xC3\x85"), points_of("A\xCC\x8A"));
  EXPECT_NE(points_of("\xC3\xA9"), points_of("e"));
  EXPECT_EQ(text_length("\xC3\xA9t\xC3\xA9", 9), text_length("ete", 9));
}

TEST(Lettering, UnknownLettersAreBoxesAndControlCharactersSpaces) {
  EXPECT_EQ(points_of("\xE5\xBA\xA7"), points_of("\xF0\x9F\x98\x80"));
  EXPECT_EQ(points_of("\xE5\xBA\xA7").size(), 5u);
  EXPECT_EQ(points_of("a\nb"), points_of("a b"));
  EXPECT_EQ(points_of("\xFF"), points_of("\xE5\xBA\xA7"));
}

TEST(Lettering, IsTurnedAboutTheStartOfItsBaselineAndNeverMirrored) {
  PieceLabel turned = label("L");
  turned.angle = std::numbers::pi / 2;
  const std::vector<Polyline> strokes = strokes_of(turned);
  ASSERT_EQ(strokes.size(), 1u);
  ASSERT_EQ(strokes[0].size(), 3u);  // top, foot, end of the foot's bar
  EXPECT_NEAR((strokes[0][0] - Vec2(3 - 9, -2)).norm(), 0, rounding);
  EXPECT_NEAR((strokes[0][1] - Vec2(3, -2)).norm(), 0, rounding);
  EXPECT_NEAR((strokes[0][2] - Vec2(3, -2 + 5)).norm(), 0, rounding);
}

}  // namespace chalkfold::draft
