// SPDX-License-Identifier: Apache-2.0
// Printed pages as pdftoppm draws them at 300 dpi: true size, nothing lost between tiles, never mirrored.
#include "pipeline/output/pages/piece_pdf.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <sstream>

#include "pipeline/common/error.h"
#include "tests/output/pages/printed_piece.h"
#include "tests/output/sized_flag.h"

namespace chalkfold::output {

namespace {
using test::PaperPage;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

constexpr int dpi = 300;
constexpr double outline_bar = 0.2;              // mm, what the pages answer to
constexpr double true_bar = 100, bar_bar = 0.1;  // mm, of the check bar
constexpr double margin = 8, foot = 20;          // mm, of a page

double width_of(const PaperPage& page) { return page.grey.cols / page.px_per_mm; }
double height_of(const PaperPage& page) { return page.grey.rows / page.px_per_mm; }

/// Length of the check bar from the two marks at its ends, which stand higher than those between.
double check_bar(const PaperPage& page) {
  const double y = height_of(page) - margin - foot + 16 - 2.3;
  const auto ends = page.strokes_across({margin - 3, y}, {margin + 104, y});
  return ends.size() == 2 ? ends[1] - ends[0] : 0;
}

/// The tile's rectangle from its crop marks: left, top, right, bottom, mm on the page.
struct Tile {
  Vec2 min = Vec2::Zero(), max = Vec2::Zero();
};

Tile tile_from_crop_marks(const PaperPage& page) {
  constexpr double beside = 1.8;  // mm outside the tile, where only crop marks are
  const double w = width_of(page), h = height_of(page);
  const auto upper = page.strokes_across({0, margin - beside}, {w, margin - beside});
  const auto left = page.strokes_across({margin - beside, 0}, {margin - beside, h - margin - foot + 4});
  const auto right = page.strokes_across({w - margin + beside, 0}, {w - margin + beside, h - margin - foot + 4});
  if (upper.size() != 2 || left.size() != 2 || right.size() != 2)
    throw std::runtime_error(fmt::format("crop marks: {} {} {}", upper.size(), left.size(), right.size()));
  constexpr double same = 0.1;  // mm
  EXPECT_NEAR(left[0], right[0], same);
  EXPECT_NEAR(left[1], right[1], same);
  return {{upper[0], left[0]}, {upper[1], left[1]}};
}

/// "B2" when it stands alone as a word on the page; nothing for the map, which has all of them.
std::string tile_name(const PaperPage& page) {
  std::istringstream words(page.words);
  std::string name;
  for (std::string word; words >> word;) {
    if (word == "map") return "";
    if (word.size() == 2 && word[0] >= 'A' && word[0] <= 'Z' && word[1] >= '1' && word[1] <= '9') name = word;
  }
  return name;
}

/// Pages laid beside one another as one does with scissors and glue: by their names and crop marks alone.
class Assembled {
 public:
  Assembled(const std::vector<PaperPage>& pages, double overlap) {
    for (const PaperPage& page : pages) {
      const std::string name = tile_name(page);
      if (name.empty()) continue;
      const Tile tile = tile_from_crop_marks(page);
      const Vec2 step = tile.max - tile.min - Vec2::Constant(overlap);
      placed_[name] = {&page, tile, Vec2((name[1] - '1') * step.x(), (name[0] - 'A') * step.y())};
    }
  }
  /// Darkness at a place in mm, y down from the upper left of tile A1: of the darkest page there.
  double ink(const Vec2& at) const {
    double darkest = 0;
    for (const auto& [name, p] : placed_) {
      const Vec2 on_page = at - p.shift + p.tile.min;
      const bool inside =
          (on_page.array() >= p.tile.min.array()).all() && (on_page.array() <= p.tile.max.array()).all();
      if (inside) darkest = std::max(darkest, p.page->ink(on_page));
    }
    return darkest;
  }
  std::vector<std::string> names() const {
    std::vector<std::string> all;
    for (const auto& [name, p] : placed_) all.push_back(name);
    return all;
  }

 private:
  struct Placed {
    const PaperPage* page = nullptr;
    Tile tile;
    Vec2 shift = Vec2::Zero();
  };
  std::map<std::string, Placed> placed_;
};

struct LineCheck {
  /// mm, of the line's ink from where it should be
  double worst = 0;
  /// share of the places looked at that have any
  double inked = 0;
};

/// Follows a closed line of the piece on the paper: where is its ink across it? `on_paper` gives the place of a piece's point; places
/// near another of the piece's lines, of which `others` gives some, and near corners are left out.
template <class Paper, class Place>
LineCheck check_line(const Polyline& closed, const Paper& paper, const Place& on_paper, const Polyline& others) {
  constexpr double step = 0.5, reach = 0.8, fine = 0.04, clear = 3;  // mm
  LineCheck check;
  int looked = 0, found = 0;
  for (std::size_t i = 0; i < closed.size(); ++i) {
    const Vec2 a = closed[i], b = closed[(i + 1) % closed.size()], way = (b - a).normalized();
    const Vec2 across(-way.y(), way.x());
    for (double at = step; at < (b - a).norm() - step; at += step) {
      const Vec2 p = a + at * way;
      if (std::any_of(others.begin(), others.end(), [&](const Vec2& o) { return (o - p).norm() < clear; })) continue;
      double weight = 0, moment = 0;
      for (double off = -reach; off <= reach; off += fine) {
        // half-tone guide lines do not count
        const double here = std::max(0.0, paper.ink(on_paper(p + off * across)) - 155);
        weight += here;
        moment += here * off;
      }
      ++looked;
      if (weight < 100) continue;
      ++found;
      check.worst = std::max(check.worst, std::abs(moment / weight));
    }
  }
  check.inked = looked > 0 ? static_cast<double>(found) / looked : 0;
  return check;
}

/// Where other lines meet the cut or sew line: marks, axis, and the corners, where a line's own other side is near.
Polyline meeting(const draft::Piece& piece) {
  constexpr double allowance = 10;  // mm, of the flag
  Polyline places;
  for (const draft::PieceEdge& edge : piece.edges) places.push_back(edge.sew.front().from);
  for (const draft::PieceMark& mark : piece.marks) places.push_back(mark.on_cut);
  if (piece.axis) {
    const Vec2 from = (*piece.axis)[0], to = (*piece.axis)[1], inward = allowance * (to - from).normalized();
    places.insert(places.end(), {from, from + inward, to - inward, to});
  }
  return places;
}

void expect_true_when_assembled(const draft::Piece& asked, const PdfPages& pages) {
  const auto printed = test::printed_piece(piece_pdf(asked, pages), dpi);
  ASSERT_GT(printed.size(), 2u);
  const draft::Piece piece = pages.face ? draft::other_side(asked) : asked;
  const Assembled paper(printed, pages.overlap);
  const PdfLayout layout = pdf_layout(piece.cut_line, pages, 0);
  const Vec2 corner(layout.tiles[0].box.min.x(), layout.tiles[0].box.max.y());
  // By hand, so that a mirror in the code under test shows: a quarter turn, then y down from the corner.
  const auto on_paper = [&](const Vec2& p) {
    const Vec2 q = layout.turned ? Vec2(-p.y(), p.x()) : p;
    return Vec2(q.x() - corner.x(), corner.y() - q.y());
  };
  const LineCheck cut = check_line(piece.cut_line, paper, on_paper, meeting(piece));
  EXPECT_EQ(cut.inked, 1) << "the cut line has gaps";
  EXPECT_LT(cut.worst, outline_bar);
  const LineCheck sew = check_line(piece.sew_line, paper, on_paper, meeting(piece));
  EXPECT_LT(sew.worst, outline_bar);
  EXPECT_GT(sew.inked, 0.5) << "dashes of 4 mm, gaps of 2";
  EXPECT_LT(sew.inked, 0.85);
  fmt::print("{} pages, cut line off by {:.3f} mm at the most, sew line by {:.3f}\n", printed.size(), cut.worst,
             sew.worst);
  double shortest = 1e9, longest = 0;
  for (const PaperPage& page : printed) {
    shortest = std::min(shortest, check_bar(page));
    longest = std::max(longest, check_bar(page));
  }
  EXPECT_NEAR(shortest, true_bar, bar_bar);
  EXPECT_NEAR(longest, true_bar, bar_bar);
  fmt::print("check bars from {:.3f} to {:.3f} mm\n", shortest, longest);
}

draft::Piece boot() {
  draft::Piece piece;
  piece.name = "boot";
  piece.cut_line = {{0, 0}, {560, 0}, {560, 150}, {150, 150}, {150, 700}, {0, 700}};
  piece.sew_line = {{10, 10}, {550, 10}, {550, 140}, {140, 140}, {140, 690}, {10, 690}};
  return piece;
}

/// Where a whole flag lies on its page: the box of the dark ink between the first words and the foot.
struct InkBox {
  Vec2 min{1e9, 1e9}, max{-1e9, -1e9};
};

InkBox ink_box(const PaperPage& page) {
  InkBox box;
  for (int row = static_cast<int>(25 * page.px_per_mm);
       row < static_cast<int>((height_of(page) - margin - foot - 5) * page.px_per_mm); ++row) {
    for (int column = 0; column < page.grey.cols; ++column) {
      if (page.grey.at<unsigned char>(row, column) > 100) continue;
      const Vec2 p(column / page.px_per_mm, row / page.px_per_mm);
      box.min = box.min.cwiseMin(p);
      box.max = box.max.cwiseMax(p);
    }
  }
  return box;
}

bool any_ink(const PaperPage& page, const Vec2& middle, double reach) {
  for (double x = -reach; x <= reach; x += 0.1) {
    for (double y = -reach; y <= reach; y += 0.1) {
      if (page.ink(middle + Vec2(x, y)) > 155) return true;
    }
  }
  return false;
}

/// Corner of the page's picture of a flag that is cut off round, and the side that is hollow: "upper right", "left".
std::pair<std::string, std::string> shape_on(const PaperPage& page) {
  const InkBox box = ink_box(page);
  std::pair<std::string, std::string> shape;
  constexpr double near = 2;  // mm
  for (const auto& [name, at] : std::map<std::string, Vec2>{{"upper left", box.min},
                                                            {"lower right", box.max},
                                                            {"upper right", {box.max.x(), box.min.y()}},
                                                            {"lower left", {box.min.x(), box.max.y()}}}) {
    if (!any_ink(page, at, near)) shape.first += name;
  }
  const Vec2 middle = 0.5 * (box.min + box.max);
  for (const auto& [name, at] : std::map<std::string, Vec2>{{"left", {box.min.x(), middle.y()}},
                                                            {"right", {box.max.x(), middle.y()}},
                                                            {"top", {middle.x(), box.min.y()}},
                                                            {"bottom", {middle.x(), box.max.y()}}}) {
    if (!any_ink(page, at, near)) shape.second += name;
  }
  return shape;
}

PaperPage only_page(const draft::Piece& piece, const PdfPages& pages) {
  const auto printed = test::printed_piece(piece_pdf(piece, pages), dpi);
  if (printed.size() != 1) throw std::runtime_error(fmt::format("{} pages", printed.size()));
  return printed[0];
}

PdfPages face_up() {
  PdfPages pages;
  pages.face = true;
  return pages;
}
}  // namespace

TEST(PiecePdf, TilesMakeThePieceInsideOnA4) { expect_true_when_assembled(test::sized_flag(430, 500), {}); }

TEST(PiecePdf, TilesMakeThePieceFaceOnLetter) {
  PdfPages pages = face_up();
  pages.paper = PdfPaper::letter;
  expect_true_when_assembled(test::sized_flag(430, 500), pages);
}

TEST(PiecePdf, TilesMakeThePieceTurnedOnA3) {
  PdfPages pages;
  pages.paper = PdfPaper::a3;
  draft::Piece piece = test::sized_flag(720, 250);
  for (Vec2& p : piece.cutouts[0]) p.x() += 60;  // off the sew line, which is hollow there
  EXPECT_TRUE(pdf_layout(piece.cut_line, pages, 0).turned);
  expect_true_when_assembled(piece, pages);
}

TEST(PiecePdf, APieceThatFitsIsOnOnePageAtTrueSize) {
  const draft::Piece piece = test::sized_flag(150, 120);
  const PaperPage page = only_page(piece, {});
  const InkBox box = ink_box(page);
  EXPECT_NEAR(box.max.x() - box.min.x(), 170 + 0.35, outline_bar) << "a line's width beyond the line itself";
  EXPECT_NEAR(box.max.y() - box.min.y(), 140 + 0.35, outline_bar);
  EXPECT_NEAR(check_bar(page), true_bar, bar_bar);
  EXPECT_THAT(page.words, Not(HasSubstr("map")));
}

TEST(PiecePdf, InsideAndFaceAreEachOthersMirrorImageAndSaySo) {
  const draft::Piece piece = test::sized_flag(150, 120);
  const PaperPage inside = only_page(piece, {}), face = only_page(piece, face_up());
  EXPECT_EQ(shape_on(inside), (std::pair<std::string, std::string>{"upper right", "left"}));
  EXPECT_EQ(shape_on(face), (std::pair<std::string, std::string>{"upper left", "right"}));
  EXPECT_THAT(inside.words, HasSubstr("INSIDE"));
  EXPECT_THAT(face.words, HasSubstr("FACE"));
}

TEST(PiecePdf, ATurnedPieceIsTurnedAndNotMirrored) {
  const draft::Piece piece = test::sized_flag(205, 120);
  EXPECT_EQ(shape_on(only_page(piece, {})), (std::pair<std::string, std::string>{"upper left", "bottom"}));
  EXPECT_EQ(shape_on(only_page(piece, face_up())), (std::pair<std::string, std::string>{"lower left", "top"}));
}

TEST(PiecePdf, APieceThatShowsItsFaceIsNotTurnedOverAgain) {
  const draft::Piece piece = draft::other_side(test::sized_flag(150, 120));
  EXPECT_EQ(piece_pdf(piece, {}), piece_pdf(piece, face_up()));
}

TEST(PiecePdf, EmptyTilesAreLeftOutAndGreyOnTheMap) {
  const auto printed = test::printed_piece(piece_pdf(boot()), 100);
  EXPECT_THAT(Assembled(printed, 10).names(), ElementsAre("A1", "B1", "C1", "C2", "C3"));
  EXPECT_EQ(printed.size(), 6u);
  EXPECT_THAT(printed[0].words, HasSubstr("map"));
  EXPECT_THAT(printed[0].words, Not(HasSubstr("A2")));
  const cv::Mat& map = printed[0].grey;
  int grey = 0;
  for (int row = 0; row < map.rows; ++row) {
    for (int column = 0; column < map.cols; ++column) grey += std::abs(map.at<unsigned char>(row, column) - 209) <= 2;
  }
  EXPECT_NEAR(static_cast<double>(grey) / static_cast<double>(map.total()), 0.25, 0.15)
      << "four of nine fields of the map";
}

TEST(PiecePdf, EveryPageSaysWhatItIs) {
  const auto printed = test::printed_piece(piece_pdf(test::sized_flag(430, 500)), 50);
  for (std::size_t i = 0; i < printed.size(); ++i) {
    for (const std::string words : {"flag", "seat top, job 7", "piece 3, cut 2, one mirrored, vinyl",
                                    "shows the INSIDE", "Check that this bar is 100 mm"}) {
      EXPECT_THAT(printed[i].words, HasSubstr(words)) << i;
    }
    EXPECT_THAT(printed[i].words, HasSubstr(fmt::format("{} of {}", i + 1, printed.size())));
    EXPECT_EQ(tile_name(printed[i]).empty(), i == 0);
  }
}

TEST(PiecePdf, CautionsStandOnTheFirstPage) {
  const auto first_words = [](const draft::Piece& piece, const PdfPages& pages) {
    return test::printed_piece(piece_pdf(piece, pages), 50)[0].words;
  };
  draft::Piece piece = test::sized_flag(430, 500);
  EXPECT_THAT(first_words(piece, {}), HasSubstr("Spray glue"));
  EXPECT_THAT(first_words(piece, {}), Not(HasSubstr("airbag")));
  PdfPages seat_side;
  seat_side.seat_side = true;
  EXPECT_THAT(first_words(piece, seat_side), HasSubstr("airbag"));
  piece.part = "seat Side";
  EXPECT_THAT(first_words(piece, {}), HasSubstr("seat belt"));
  EXPECT_THAT(first_words(test::sized_flag(150, 120), {}), HasSubstr("Spray glue"));
}

TEST(PiecePdf, AirbagsAreThoughtOfByNameOrPart) {
  draft::Piece piece;
  piece.name = "Left BOLSTER";
  EXPECT_TRUE(may_cover_airbag(piece));
  piece.name = "x";
  piece.part = "back side";
  EXPECT_TRUE(may_cover_airbag(piece));
  piece.part = "head rest";
  EXPECT_FALSE(may_cover_airbag(piece));
}

TEST(PiecePdf, PagesAreOfThePapersSize) {
  const draft::Piece small = test::sized_flag(150, 120), large = test::sized_flag(430, 500);
  EXPECT_THAT(test::page_sizes(piece_pdf(small)), ElementsAre("595.276 x 841.89"));
  PdfPages pages;
  pages.paper = PdfPaper::letter;
  EXPECT_THAT(test::page_sizes(piece_pdf(small, pages)), ElementsAre("612 x 792"));
  pages.paper = PdfPaper::a3;
  EXPECT_THAT(test::page_sizes(piece_pdf(large, pages)), testing::Each("841.89 x 1190.55"));
  pages.paper = PdfPaper::roll;
  const auto roll = test::page_sizes(piece_pdf(large, pages));
  ASSERT_EQ(roll.size(), 1u);
  EXPECT_THAT(roll[0], testing::StartsWith("2590.87 x "));
}

TEST(PiecePdf, NothingIsPrintedWherePrintersLeaveWhite) {
  constexpr double unprintable = 5;  // mm
  draft::Piece piece = test::sized_flag(430, 500);
  piece.name = std::string(80, 'W');
  for (const PaperPage& page : test::printed_piece(piece_pdf(piece), 150)) {
    cv::Mat rim = page.grey.clone();
    const int inner = static_cast<int>(unprintable * page.px_per_mm);
    rim(cv::Rect(inner, inner, rim.cols - 2 * inner, rim.rows - 2 * inner)) = 255;
    double darkest = 0;
    cv::minMaxLoc(rim, &darkest);
    EXPECT_EQ(darkest, 255) << tile_name(page);
  }
}

TEST(PiecePdf, IsTheSameEachTimeAndHasNoDate) {
  const draft::Piece piece = test::sized_flag(430, 500);
  const std::string pdf = piece_pdf(piece);
  EXPECT_EQ(piece_pdf(piece), pdf);
  EXPECT_THAT(pdf, Not(HasSubstr("CreationDate")));
  EXPECT_THAT(pdf, HasSubstr("/PrintScaling /None"));
}

TEST(PiecePdf, APieceWithoutACutLineIsABrokenInvariant) { EXPECT_THROW(piece_pdf(draft::Piece{}), std::logic_error); }

}  // namespace chalkfold::output
