// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/known_print.h"

#include <array>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "calib/marker_bits.h"
#include "calib/sheet_layout.h"
#include "pipeline/geometry/point.h"
#include "pipeline/trace/find/table_masks.h"

namespace chalkfold::trace {
namespace {

// mm of paper's surroundings taken for paper, as the network learnt it (demo/train/sheets.py): its thin shadow, the survey's error
constexpr double margin = 2.0, tag_margin = 3.0;
constexpr int fine = 4;  // px a mm in which a page is drawn: a marker's cell of 3.7 mm to a quarter of a mm
constexpr double page_width = 216, page_height = 298;  // mm, of a page's picture: the board in its middle

/// Corners of a rectangle about a page's middle: lower left, lower right, upper right, upper left.
using Corners = std::array<Vec2, 4>;

Corners rectangle(double half_width, double half_height) {
  return {Vec2(-half_width, -half_height), Vec2(half_width, -half_height), Vec2(half_width, half_height),
          Vec2(-half_width, half_height)};
}

/// Fills a rectangle given in mm from the page's upper left corner.
void fill(cv::Mat& page, double x, double y, double width, double height, float value) {
  const auto px = [](double mm) { return static_cast<int>(std::lround(mm * fine)); };
  const cv::Rect all({}, page.size());
  page(cv::Rect(px(x), px(y), px(x + width) - px(x), px(y + height) - px(y)) & all).setTo(value);
}

void draw_marker(cv::Mat& page, int id, double x, double y, double side) {
  const double cell = side / calib::marker_cells;
  for (int row = 0; row < calib::marker_cells; ++row)
    for (int column = 0; column < calib::marker_cells; ++column)
      if (calib::is_marker_cell_black(id, column, row)) fill(page, x + column * cell, y + row * cell, cell, cell, 1);
}

cv::Mat one_px_a_mm(const cv::Mat& page) {
  cv::Mat small;
  cv::resize(page, small, {}, 1.0 / fine, 1.0 / fine, cv::INTER_AREA);
  return small;
}

/// Ink of a sheet's board, CV_32F 0..1, row 0 the top of the page.
cv::Mat sheet_ink(int number) {
  cv::Mat page = cv::Mat::zeros(cv::Size(cvRound(page_width * fine), cvRound(page_height * fine)), CV_32F);
  const double left = (page_width - sheet::board_width) / 2, top = (page_height - sheet::board_height) / 2;
  for (int row = 0; row < sheet::rows; ++row)
    for (int column = 0; column < sheet::columns; ++column)
      if (sheet::is_black(column, row))
        fill(page, left + column * sheet::square, top + row * sheet::square, sheet::square, sheet::square, 1);
  constexpr double inset = (sheet::square - sheet::marker) / 2;
  for (int m = 0; m < sheet::markers_per_sheet; ++m) {
    const auto [column, row] = sheet::marker_square(m);
    draw_marker(page, sheet::marker_id(number, m), left + column * sheet::square + inset,
                top + row * sheet::square + inset, sheet::marker);
  }
  return one_px_a_mm(page);
}

cv::Mat tag_ink(int number) {
  cv::Mat card = cv::Mat::zeros(cv::Size(cvRound(sheet::tag_card * fine), cvRound(sheet::tag_card * fine)), CV_32F);
  constexpr double inset = (sheet::tag_card - sheet::tag_side) / 2;
  draw_marker(card, sheet::tag_first_id + number, inset, inset, sheet::tag_side);
  return one_px_a_mm(card);
}

/// Collects papers and their print.
class Laying {
 public:
  Laying(const TableRaster& raster, const survey::TableView& view, double height)
      : raster_(raster), view_(view), height_(height), ink_(cv::Mat::zeros(raster.size, CV_32F)) {
    print_.paper = cv::Mat::zeros(raster.size, CV_8U);
  }

  void cover(const Corners& on_sheet_plane) {
    std::vector<cv::Point> polygon;
    for (const Vec2& p : on_sheet_plane) {
      const Vec2 q = seen(p);
      polygon.emplace_back(cvRound(q.x()), cvRound(q.y()));
    }
    cv::fillPoly(print_.paper, std::vector<std::vector<cv::Point>>{polygon}, cv::Scalar(255));
  }

  /// A page's picture onto the rectangle it fills. Lines of sight bend it by less than a pixel: an affine map does.
  void print(const cv::Mat& page, const Corners& on_sheet_plane) {
    constexpr float half = 0.5f;  // px: a page's border lies half a pixel beyond the middle of its last row
    const auto wide = static_cast<float>(page.cols), high = static_cast<float>(page.rows);
    const std::array<cv::Point2f, 3> from{
        cv::Point2f(-half, high - half), {wide - half, high - half}, {wide - half, -half}};
    std::array<cv::Point2f, 3> to;
    for (std::size_t i = 0; i < to.size(); ++i) {
      const Vec2 q = seen(on_sheet_plane[i]);
      to[i] = {static_cast<float>(q.x()), static_cast<float>(q.y())};
    }
    cv::Mat laid;
    cv::warpAffine(page, laid, cv::getAffineTransform(from.data(), to.data()), raster_.size, cv::INTER_LINEAR);
    ink_ = cv::max(ink_, laid);
  }

  KnownPrint result() {
    ink_.convertTo(print_.ink, CV_8U, 255);
    print_.ink.setTo(0, ~print_.paper);
    return print_;
  }

 private:
  Vec2 seen(const Vec2& on_sheet_plane) const {
    return raster_.raster_from_table(view_.table_from_photo(view_.photo_from_table(on_sheet_plane, 0), height_));
  }

  const TableRaster& raster_;
  const survey::TableView& view_;
  double height_;
  KnownPrint print_;
  cv::Mat ink_;
};

Corners placed(const geometry::Rigid2& place, Corners corners) {
  for (Vec2& c : corners) c = place * c;
  return corners;
}

Corners enlarged(const Corners& corners, double times) {
  Vec2 middle = Vec2::Zero();
  for (const Vec2& c : corners) middle += 0.25 * c;
  Corners out = corners;
  for (Vec2& c : out) c = middle + times * (c - middle);
  return out;
}

}  // namespace

KnownPrint known_print(const TableRaster& raster, const capture::Sighting& sighting, const survey::TableView& view,
                       double height) {
  Laying laying(raster, view, height);
  for (const survey::SheetPlace& s : view.solution().sheets) {
    const geometry::Rigid2 place{s.theta, s.centre};
    laying.cover(placed(place, rectangle(widest_paper / 2 + margin, longest_paper / 2 + margin)));
    laying.print(sheet_ink(s.number), placed(place, rectangle(page_width / 2, page_height / 2)));
  }
  for (const capture::TagSighting& t : sighting.tags) {
    const auto& [top_left, top_right, bottom_right, bottom_left] = t.corners_in_photo;
    Corners tag{bottom_left, bottom_right, top_right, top_left};
    for (Vec2& c : tag) c = view.table_from_photo(c, 0);
    laying.cover(enlarged(tag, (sheet::tag_card + 2 * tag_margin) / sheet::tag_side));
    laying.print(tag_ink(t.number), enlarged(tag, sheet::tag_card / sheet::tag_side));
  }
  return laying.result();
}

}  // namespace chalkfold::trace
