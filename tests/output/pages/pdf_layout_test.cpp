// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/pages/pdf_layout.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "pipeline/common/error.h"

namespace chalkfold::output {

namespace {
constexpr double words = 15;  // mm at the top of a first page

Polyline box(double width, double height) { return {{0, 0}, {width, 0}, {width, height}, {0, height}}; }

std::size_t pages_of(const PdfLayout& layout) {
  return static_cast<std::size_t>(
      std::count_if(layout.tiles.begin(), layout.tiles.end(), [](const PdfTile& t) { return !t.empty; }));
}

/// What A4 leaves for a whole piece: the margins, the foot, the words and 0.5 mm around the line taken off.
constexpr double room_x = 210 - 16 - 1, room_y = 297 - 16 - 20 - words - 1;
}  // namespace

TEST(PdfLayout, APieceThatFitsIsWhole) {
  const PdfLayout layout = pdf_layout(box(room_x, room_y), {}, words);
  EXPECT_TRUE(layout.whole);
  EXPECT_FALSE(layout.turned);
  EXPECT_EQ(layout.tiles.size(), 1u);
  EXPECT_LE((layout.tiles[0].box.centre() - Vec2(room_x / 2, room_y / 2)).norm(), 1e-9) << "in the middle";
}

TEST(PdfLayout, OneThatFitsTurnedIsTurned) {
  const PdfLayout layout = pdf_layout(box(room_y, room_x), {}, words);
  EXPECT_TRUE(layout.whole);
  EXPECT_TRUE(layout.turned);
}

TEST(PdfLayout, AHairTooWideAndTooHighIsCutUp) {
  EXPECT_FALSE(pdf_layout(box(room_x + 0.1, room_y), {}, words).whole);
  EXPECT_FALSE(pdf_layout(box(room_x, room_y + 0.1), {}, words).whole);
}

TEST(PdfLayout, NeighboursShareTheOverlapAndCellsShareNothing) {
  const PdfLayout layout = pdf_layout(box(500, 600), {}, words);
  ASSERT_GT(layout.columns, 1);
  ASSERT_GT(layout.rows, 1);
  const auto at = [&](int row, int column) {
    return layout.tiles[static_cast<std::size_t>(row * layout.columns + column)];
  };
  constexpr double rounding = 1e-9;  // mm
  EXPECT_NEAR(at(0, 0).box.max.x() - at(0, 1).box.min.x(), 10, rounding);
  EXPECT_NEAR(at(1, 0).box.max.y() - at(0, 0).box.min.y(), 10, rounding);
  EXPECT_NEAR(at(0, 0).cell.max.x(), at(0, 1).cell.min.x(), rounding);
  EXPECT_NEAR(at(1, 0).cell.max.y(), at(0, 0).cell.min.y(), rounding);
  EXPECT_EQ(at(1, 0).name, "B1");
  EXPECT_LT(at(0, 0).box.min.x(), 0);
  EXPECT_GT(at(0, layout.columns - 1).box.max.x(), layout.turned ? 0 : 500);
}

TEST(PdfLayout, TilesWithNothingInThemAreEmptyAndThoseInsideThePieceAreNot) {
  // An angle: its lower left is one page's share and its upper right is empty.
  const PdfLayout layout = pdf_layout({{0, 0}, {700, 0}, {700, 150}, {150, 150}, {150, 700}, {0, 700}}, {}, words);
  EXPECT_TRUE(layout.tiles[static_cast<std::size_t>(layout.columns - 1)].empty);
  const PdfLayout full = pdf_layout(box(2000, 2000), {}, words);
  EXPECT_EQ(pages_of(full), full.tiles.size()) << "the middle of a piece holds it together";
}

TEST(PdfLayout, TurnsAPieceWhenThatSparesPages) {
  const PdfLayout layout = pdf_layout(box(480, 150), {}, words);
  EXPECT_TRUE(layout.turned);
  EXPECT_EQ(pages_of(layout), 2u);
}

/// Pages of a shape on a grid of tiles in the middle of it, counted place by place.
std::size_t pages_when_centred(const Polyline& shape, const PdfLayout& layout) {
  const geometry::Box box = geometry::bounding_box(shape);
  const Vec2 step = layout.tiles[0].box.size() - Vec2(10, 10);
  const Vec2 corner = box.centre() - 0.5 * Vec2(layout.columns * step.x(), layout.rows * step.y());
  const auto index = [](double at, int count) { return std::clamp(static_cast<int>(std::floor(at)), 0, count - 1); };
  std::set<std::pair<int, int>> used;
  for (double x = box.min.x(); x <= box.max.x(); ++x) {
    for (double y = box.min.y(); y <= box.max.y(); ++y) {
      if (!geometry::contains(shape, {x, y})) continue;
      used.insert(
          {index((x - corner.x()) / step.x(), layout.columns), index((y - corner.y()) / step.y(), layout.rows)});
    }
  }
  return used.size();
}

TEST(PdfLayout, MovesTheTilesToSparePages) {
  const Polyline shape = {{210, 0}, {550, 220}, {330, 540}, {0, 300}};  // a panel that lay askew
  const PdfLayout layout = pdf_layout(shape, {}, words);
  ASSERT_FALSE(layout.turned);
  EXPECT_LT(pages_of(layout), pages_when_centred(shape, layout));
  for (const Vec2& corner : shape) {
    EXPECT_TRUE(std::any_of(layout.tiles.begin(), layout.tiles.end(),
                            [&](const PdfTile& t) {
                              return !t.empty && (corner.array() > t.box.min.array()).all() &&
                                     (corner.array() < t.box.max.array()).all();
                            }))
        << "every corner has its page: " << corner.transpose();
  }
}

TEST(PdfLayout, ARollIsAsLongAsThePiece) {
  PdfPages roll;
  roll.paper = PdfPaper::roll;
  const PdfLayout layout = pdf_layout(box(700, 1500), roll, words);
  EXPECT_TRUE(layout.whole);
  EXPECT_EQ(layout.page.x(), 914);
  EXPECT_NEAR(layout.page.y(), 1500 + 1 + 16 + 20 + words, 1e-9);
  const PdfLayout lying = pdf_layout(box(1500, 700), roll, words);
  EXPECT_TRUE(lying.whole);
  EXPECT_TRUE(lying.turned);
  roll.roll_width = 300;
  const PdfLayout strips = pdf_layout(box(700, 1500), roll, words);
  EXPECT_FALSE(strips.whole);
  EXPECT_EQ(strips.rows, 1);
  EXPECT_EQ(strips.columns, 3);
}

TEST(PdfLayout, RefusesWhatCannotBePrinted) {
  PdfPages pages;
  pages.roll_width = 100;
  EXPECT_THROW(pdf_layout(box(100, 100), pages, words), UsageError);
  pages = {};
  pages.overlap = -1;
  EXPECT_THROW(pdf_layout(box(100, 100), pages, words), UsageError);
  pages = {};
  pages.line = 0;
  EXPECT_THROW(pdf_layout(box(100, 100), pages, words), UsageError);
  EXPECT_THROW(pdf_layout(box(100, 10001), {}, words), UsageError);
}

}  // namespace chalkfold::output
