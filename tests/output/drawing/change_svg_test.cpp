// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/change_svg.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <sstream>
#include <vector>

#include "pipeline/geometry/polygon.h"
#include "tests/output/sized_flag.h"

namespace chalkfold::output {

namespace {
using testing::HasSubstr;
using testing::Not;

/// The flag's sew line every few mm, its right half having stretched by 2.5 % outward: folding takes that back.
draft::ShapeChange stretched() {
  const draft::Piece piece = test::sized_flag(300, 200);
  draft::ShapeChange change;
  change.done = true;
  for (const Vec2& p : geometry::resample_closed(piece.sew_line, 120)) {
    const double worn = std::max(0.0, 0.025 * (p.x() - 150));
    change.before.push_back(p + Vec2(worn, 0));
    change.moves.push_back({-worn, 0});
    change.largest = std::max(change.largest, worn);
  }
  change.rms = 1.234;
  change.reason = "a centre line is drawn";
  return change;
}

/// The data of every path, in order: before, axis, after, arrows.
std::vector<std::string> paths(const std::string& svg) {
  std::vector<std::string> found;
  for (std::size_t at = svg.find(" d=\""); at != std::string::npos; at = svg.find(" d=\"", at + 1)) {
    found.push_back(svg.substr(at + 4, svg.find('"', at + 4) - at - 4));
  }
  return found;
}

/// The strokes of a path: points in the picture, y down.
std::vector<Polyline> strokes(const std::string& d) {
  std::vector<Polyline> all;
  std::istringstream words(d);
  for (std::string word; words >> word;) {
    if (word == "Z") continue;
    if (word[0] == 'M') all.emplace_back();
    std::string y;
    words >> y;
    all.back().emplace_back(std::atof(word.c_str() + 1), std::atof(y.c_str()));
  }
  return all;
}

constexpr double written = 2e-4;  // mm: two numbers of four decimals
}  // namespace

TEST(ChangeSvg, DrawsBeforeAndAfterApartByTheMoves) {
  const draft::ShapeChange change = stretched();
  const auto p = paths(change_svg(change, test::sized_flag(300, 200), 10));
  ASSERT_EQ(p.size(), 4u);
  const Polyline before = strokes(p[0])[0], after = strokes(p[2])[0];
  ASSERT_EQ(before.size(), change.before.size());
  ASSERT_EQ(after.size(), change.before.size());
  for (std::size_t i = 0; i < before.size(); ++i) {
    EXPECT_NEAR((after[i] - before[i]).x(), change.moves[i].x(), written) << i;
    EXPECT_NEAR((after[i] - before[i]).y(), -change.moves[i].y(), written) << i << ": the picture's y points down";
  }
  for (std::size_t i = 1; i < before.size(); ++i) {
    const Vec2 in_picture = before[i] - before[i - 1], in_piece = change.before[i] - change.before[i - 1];
    EXPECT_NEAR((in_picture - Vec2(in_piece.x(), -in_piece.y())).norm(), 0, 2 * written)
        << i << ": true size, not mirrored";
  }
}

TEST(ChangeSvg, ArrowsAreScaledAndStandWhereTheOutlineWas) {
  constexpr double scale = 10;
  const draft::ShapeChange change = stretched();
  const auto p = paths(change_svg(change, test::sized_flag(300, 200), scale));
  const Polyline before = strokes(p[0])[0];
  const auto arrows = strokes(p[3]);
  int shafts = 0;
  double longest = 0;
  for (const Polyline& stroke : arrows) {
    if (stroke.size() != 2) continue;
    ++shafts;
    std::size_t nearest = 0;
    for (std::size_t i = 0; i < before.size(); ++i) {
      if ((before[i] - stroke[0]).norm() < (before[nearest] - stroke[0]).norm()) nearest = i;
    }
    EXPECT_NEAR((before[nearest] - stroke[0]).norm(), 0, written);
    EXPECT_NEAR((stroke[1] - stroke[0]).x(), scale * change.moves[nearest].x(), written);
    longest = std::max(longest, (stroke[1] - stroke[0]).norm());
  }
  EXPECT_GT(shafts, 15) << "the right half's outline is about 500 mm long";
  EXPECT_LT(shafts, 40);
  EXPECT_EQ(arrows.size(), static_cast<std::size_t>(2 * shafts)) << "each has its head";
  EXPECT_NEAR(longest, scale * change.largest, scale * 0.2) << "mm: the largest move may stand between two arrows";
}

TEST(ChangeSvg, TellsScaleMovesAndSide) {
  const draft::Piece piece = test::sized_flag(300, 200);
  const std::string svg = change_svg(stretched(), piece, 20);
  EXPECT_THAT(svg, HasSubstr("arrows 20 times as long as the moves"));
  EXPECT_THAT(svg, HasSubstr("largest move 3.75 mm, rms 1.23 mm"));
  EXPECT_THAT(svg, HasSubstr("inside up: grey before, black after"));
  EXPECT_THAT(change_svg(stretched(), draft::other_side(piece), 20), HasSubstr("face up"));
  draft::Piece named = piece;
  named.name = "a <b> & c";
  EXPECT_THAT(change_svg(stretched(), named, 20), HasSubstr("a &lt;b&gt; &amp; c"));
}

TEST(ChangeSvg, NothingDoneGivesNoPicture) {
  draft::ShapeChange change = stretched();
  change.done = false;
  EXPECT_EQ(change_svg(change, test::sized_flag(), 10), "");
  EXPECT_EQ(change_svg({true, 0, 0, {}, {}, ""}, test::sized_flag(), 10), "");
}

TEST(ChangeSvg, NoMoveGivesNoArrow) {
  draft::ShapeChange change = stretched();
  for (Vec2& move : change.moves) move = Vec2::Zero();
  EXPECT_EQ(paths(change_svg(change, test::sized_flag(), 10)).size(), 3u);
}

TEST(ChangeSvg, BrokenInvariantsThrow) {
  draft::ShapeChange change = stretched();
  EXPECT_THROW(change_svg(change, test::sized_flag(), 0), std::logic_error);
  change.moves.pop_back();
  EXPECT_THROW(change_svg(change, test::sized_flag(), 10), std::logic_error);
}

TEST(ChangeScale, IsRoundAndKeepsArrowsShort) {
  draft::ShapeChange change = stretched();
  const double scale = change_scale(change);
  EXPECT_EQ(scale, 5) << "a tenth of 200 mm, over 3.75 mm";
  for (Vec2& move : change.moves) move *= 0.1;
  EXPECT_EQ(change_scale(change), 50);
  for (Vec2& move : change.moves) move *= 1e-6;
  EXPECT_EQ(change_scale(change), 500);
  for (Vec2& move : change.moves) move = Vec2::Zero();
  EXPECT_EQ(change_scale(change), 1);
}

}  // namespace chalkfold::output
