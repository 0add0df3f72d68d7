// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>

#include "calib/pages.h"
#include "calib/sheet_layout.h"
#include "tests/calib/printed.h"

namespace chalkfold::calib {
namespace {

constexpr int printer_dpi = 600;
// The bar: a printed place is where the layout says within one dot of a 600 dpi printer (0.042 mm).
constexpr double one_dot_px = 1.0;
constexpr int white = 255;

Vec2 paper_size(Paper paper) { return paper == Paper::a4 ? Vec2(210, 297) : Vec2(215.9, 279.4); }

struct Case {
  Paper paper;
  int sheet_number;
};

std::string name_of(const testing::TestParamInfo<Case>& info) {
  return fmt::format("{}_sheet_{}", info.param.paper == Paper::a4 ? "a4" : "letter", info.param.sheet_number);
}

/// One sheet page at 600 dpi; page 1 of the file is the guide.
class SheetPage : public testing::TestWithParam<Case> {
 protected:
  void SetUp() override {
    if (!can_print()) GTEST_SKIP() << "pdftoppm is not installed (package poppler-utils)";
    options = {GetParam().paper, sheet::sheets_max, 0};
    const int page_number = GetParam().sheet_number + 1;
    page = print(options, page_number, page_number, printer_dpi).at(0);
    size = paper_size(GetParam().paper);
  }

  /// Page place (mm, y down) of a place in the sheet frame. Written here by hand, so as not to share the code under
  /// test.
  Vec2 in_page(const Vec2& p_in_sheet) const { return {size.x() / 2 + p_in_sheet.x(), size.y() / 2 - p_in_sheet.y()}; }
  int row_at(double y_in_page) const { return static_cast<int>(std::lround(page.pixel({0, y_in_page}).y())); }
  int column_at(double x_in_page) const { return static_cast<int>(std::lround(page.pixel({x_in_page, 0}).x())); }

  /// The crossings between two places (px) along a page row or column.
  static std::vector<double> edges_between(const cv::Mat& line, double from_px, double to_px) {
    std::vector<double> edges = crossings_of_half(line);
    std::erase_if(edges, [&](double e) { return e < from_px || e > to_px; });
    return edges;
  }

  SheetPagesOptions options;
  PrintedPage page;
  Vec2 size = Vec2::Zero();
};

/// Worst distance of the edges from where they should be, and of their steps from the wanted step.
struct Worst {
  double place_px = 0, pitch_px = 0;
};

Worst worst_of(const std::vector<double>& edges, double first_px, double step_px) {
  Worst worst;
  for (std::size_t i = 0; i < edges.size(); ++i) {
    worst.place_px = std::max(worst.place_px, std::abs(edges[i] - (first_px + static_cast<double>(i) * step_px)));
    if (i > 0) worst.pitch_px = std::max(worst.pitch_px, std::abs(edges[i] - edges[i - 1] - step_px));
  }
  return worst;
}

TEST_P(SheetPage, SquarePitchIs36MmAlongBothSides) {
  const double step = sheet::square * page.px_per_mm();
  // a line this far inside a square's rim meets no marker (they start 5 mm inside)
  constexpr double beside_marker = 2.5;
  Worst all;
  const auto look = [&](const cv::Mat& line, double board_from, int squares, bool starts_black) {
    const double margin = 3 * page.px_per_mm();  // inside the quiet zone
    const std::vector<double> edges = edges_between(line, board_from - margin, board_from + squares * step + margin);
    // A black square at an end of the line has its outer edge against paper; a white one has not. Both ends are alike.
    ASSERT_EQ(edges.size(), static_cast<std::size_t>(starts_black ? squares + 1 : squares - 1));
    const Worst worst = worst_of(edges, starts_black ? board_from : board_from + step, step);
    EXPECT_LT(worst.place_px, one_dot_px);
    EXPECT_LT(worst.pitch_px, one_dot_px);
    all = {std::max(all.place_px, worst.place_px), std::max(all.pitch_px, worst.pitch_px)};
  };
  const Vec2 top_left = in_page({-sheet::board_width / 2, sheet::board_height / 2});
  for (int row = 0; row < sheet::rows; ++row) {
    look(page.grey.row(row_at(top_left.y() + row * sheet::square + beside_marker)), page.pixel(top_left).x(),
         sheet::columns, row % 2 == 0);
  }
  for (int column = 0; column < sheet::columns; ++column) {
    look(page.grey.col(column_at(top_left.x() + column * sheet::square + beside_marker)), page.pixel(top_left).y(),
         sheet::rows, column % 2 == 0);
  }
  fmt::print("square edges: worst place {:.2f} px, worst pitch {:.2f} px at {} dpi\n", all.place_px, all.pitch_px,
             printer_dpi);
}

TEST_P(SheetPage, CheckBarsHaveEveryMillimetreInItsPlace) {
  constexpr double depth = 0.5;  // mm from the bar, where every mark crosses
  const auto look = [&](const cv::Mat& line, const Vec2& from_to_px, int length) {
    const double margin = 1.5 * page.px_per_mm();
    const std::vector<double> edges = edges_between(line, from_to_px[0] - margin, from_to_px[1] + margin);
    ASSERT_EQ(edges.size(), 2 * static_cast<std::size_t>(length + 1));
    std::vector<double> middles;
    for (std::size_t i = 0; i < edges.size(); i += 2) middles.push_back((edges[i] + edges[i + 1]) / 2);
    EXPECT_LT(worst_of(middles, from_to_px[0], page.px_per_mm()).place_px, one_dot_px);
    EXPECT_NEAR(middles.back() - middles.front(), length * page.px_per_mm(), one_dot_px);
    fmt::print("check bar {} mm: {:.3f} mm\n", length, (middles.back() - middles.front()) / page.px_per_mm());
  };
  const double beside = sheet::board_width / 2 + quiet_zone + depth,
               below = sheet::board_height / 2 + quiet_zone + depth;
  const Vec2 upper = page.pixel(in_page({-beside, sheet::long_bar / 2})),
             lower = page.pixel(in_page({-beside, -sheet::long_bar / 2}));
  look(page.grey.col(static_cast<int>(std::lround(upper.x()))), {upper.y(), lower.y()}, 240);
  const Vec2 left = page.pixel(in_page({-sheet::short_bar / 2, -below})),
             right = page.pixel(in_page({sheet::short_bar / 2, -below}));
  look(page.grey.row(static_cast<int>(std::lround(left.y()))), {left.x(), right.x()}, 170);
}

TEST_P(SheetPage, FourMarksPointAtTheCentre) {
  // mm outside the quiet zone: only the mark's own line, above its arrow head and the 5 mm marks
  constexpr double depth = 1.7;
  const double beside = sheet::board_width / 2 + quiet_zone + depth,
               below = sheet::board_height / 2 + quiet_zone + depth;
  const double reach = 2 * page.px_per_mm();
  for (const Vec2& at : {Vec2(-beside, 0), Vec2(beside, 0), Vec2(0, below), Vec2(0, -below)}) {
    const Vec2 pixel = page.pixel(in_page(at));
    const bool on_a_side = at.y() == 0;
    const cv::Mat line = on_a_side ? page.grey.col(static_cast<int>(std::lround(pixel.x())))
                                   : page.grey.row(static_cast<int>(std::lround(pixel.y())));
    const double middle = on_a_side ? pixel.y() : pixel.x();
    const std::vector<double> edges = edges_between(line, middle - reach, middle + reach);
    ASSERT_EQ(edges.size(), 2U) << "at " << at.transpose();
    EXPECT_NEAR((edges[0] + edges[1]) / 2, middle, one_dot_px) << "at " << at.transpose();
  }
}

TEST_P(SheetPage, PaperIsWhiteAroundTheBoardAndAlongItsEdges) {
  cv::Mat ring = page.grey.clone();
  const auto paint = [&](double margin_of_board) {
    const Vec2 a =
        page.pixel(in_page({-sheet::board_width / 2 - margin_of_board, sheet::board_height / 2 + margin_of_board}));
    const Vec2 b =
        page.pixel(in_page({sheet::board_width / 2 + margin_of_board, -sheet::board_height / 2 - margin_of_board}));
    return cv::Rect(cv::Point(cvRound(a.x()), cvRound(a.y())), cv::Point(cvRound(b.x()), cvRound(b.y())));
  };
  constexpr double rim = 0.2;  // half the width of the bar's line, and a dot
  ring(paint(rim)) = white;
  double darkest = 0;
  cv::minMaxLoc(ring(paint(quiet_zone - rim)), &darkest);
  EXPECT_EQ(darkest, white) << "ink in the quiet zone";
  cv::Mat edges = page.grey.clone();
  const int margin = static_cast<int>((unprintable_margin - rim) * page.px_per_mm());
  edges(cv::Rect(margin, margin, edges.cols - 2 * margin, edges.rows - 2 * margin)) = white;
  cv::minMaxLoc(edges, &darkest);
  EXPECT_EQ(darkest, white) << "ink where printers leave white";
}

TEST_P(SheetPage, All17MarkersAndAll24CornersAreInTheirPlaces) {
  const int number = GetParam().sheet_number;
  const auto markers = markers_on(page);
  ASSERT_EQ(markers.size(), static_cast<std::size_t>(sheet::markers_per_sheet));
  std::vector<cv::Point2f> in_sheet, in_pixels;
  for (int m = 0; m < sheet::markers_per_sheet; ++m) {
    const auto found = markers.find(sheet::marker_id(number, m));
    ASSERT_NE(found, markers.end()) << "marker " << m << " of sheet " << number;
    for (std::size_t c = 0; c < 4; ++c) {
      const Vec2 p = sheet::marker_corners(m)[c];
      in_sheet.emplace_back(p.x(), p.y());
      in_pixels.push_back(found->second[c]);
    }
  }
  const cv::Mat photo_from_sheet = cv::findHomography(in_sheet, in_pixels);
  EXPECT_LT(cv::determinant(photo_from_sheet), 0)
      << "y up to y down: a sheet that is not mirrored turns the handedness once";
  std::vector<cv::Point2f> corners_in_sheet, corners;
  for (int k = 0; k < sheet::corners_per_sheet; ++k)
    corners_in_sheet.emplace_back(sheet::corner(k).x(), sheet::corner(k).y());
  cv::perspectiveTransform(corners_in_sheet, corners, photo_from_sheet);
  const int window = static_cast<int>(2 * page.px_per_mm());  // the nearest marker is 5 mm off
  cv::cornerSubPix(page.grey, corners, {window, window}, {-1, -1},
                   {cv::TermCriteria::COUNT + cv::TermCriteria::EPS, 50, 1e-3});
  double worst = 0;
  for (int k = 0; k < sheet::corners_per_sheet; ++k) {
    const cv::Point2f& c = corners[static_cast<std::size_t>(k)];
    const double off = (Vec2(c.x, c.y) - page.pixel(in_page(sheet::corner(k)))).norm();
    EXPECT_LT(off, one_dot_px) << "corner " << k << " at " << c;
    worst = std::max(worst, off);
  }
  fmt::print("24 corners: worst {:.2f} px at {} dpi\n", worst, printer_dpi);
}

TEST_P(SheetPage, SaysItsNumberAndHowToPrint) {
  const std::string words = words_on_page(options, GetParam().sheet_number + 1);
  EXPECT_THAT(words, testing::HasSubstr(fmt::format("sheet {}\n", GetParam().sheet_number)));
  // Only the upright words: pdftotext reads those along the long side backwards.
  for (const char* wanted : {"100 %", "170 mm"}) EXPECT_THAT(words, testing::HasSubstr(wanted));
}

INSTANTIATE_TEST_SUITE_P(Printed, SheetPage,
                         testing::Values(Case{Paper::a4, 1}, Case{Paper::a4, 20}, Case{Paper::letter, 3}), name_of);

TEST(SheetPages, EverySheetCarriesItsOwnMarkersInOrder) {
  if (!can_print()) GTEST_SKIP() << "pdftoppm is not installed (package poppler-utils)";
  constexpr int reading_dpi = 100;
  constexpr double same_place_mm = 0.5;  // marker corners without refinement at 0.25 mm a pixel
  const auto pages = print({Paper::letter, sheet::sheets_max, 0}, 2, sheet::sheets_max + 1, reading_dpi);
  for (int number = 1; number <= sheet::sheets_max; ++number) {
    const PrintedPage& page = pages[static_cast<std::size_t>(number - 1)];
    const auto markers = markers_on(page);
    EXPECT_EQ(markers.size(), static_cast<std::size_t>(sheet::markers_per_sheet)) << "sheet " << number;
    for (const auto& [id, corners] : markers) {
      ASSERT_EQ(sheet::sheet_of_marker(id), number) << "marker " << id;
      const Vec2 top_left = sheet::marker_corners(id - sheet::marker_id(number, 0))[0];
      const Vec2 wanted = page.pixel({215.9 / 2 + top_left.x(), 279.4 / 2 - top_left.y()});
      EXPECT_LT((Vec2(corners[0].x, corners[0].y) - wanted).norm() / page.px_per_mm(), same_place_mm)
          << "marker " << id;
    }
  }
}

}  // namespace
}  // namespace chalkfold::calib
