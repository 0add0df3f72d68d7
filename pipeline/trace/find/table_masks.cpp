// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/table_masks.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "calib/sheet_layout.h"

namespace chalkfold::trace {
namespace {

constexpr double paper_half_width = 108.0, paper_half_height = 0.5 * longest_paper;  // the width to the next 0.05 mm up
constexpr double paper_margin = 2.0;  // mm: a sheet's own thin shadow, and the survey's error
// a tag's card is seen through the raster's filters: on a coarse one they reach farther than the margin
constexpr double tag_margin_px = 2.0;
// Where both papers surely are, 3 mm inside the smaller in each direction, and where the board surely is not.
constexpr double margin_half_width = 102.0, margin_half_height = 136.0, board_margin = 2.0;
// mm outside the paper, past its shadow; fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
constexpr double ring_inner = 5.0, ring_outer = 40.0;
constexpr double rim_width = 20.0;  // mm inside the photo's edge; fitted

void fill(cv::Mat& mask, const TableRaster& raster, const Polyline& on_table) {
  std::vector<cv::Point> polygon;
  for (const Vec2& p : on_table) {
    const Vec2 q = raster.raster_from_table(p);
    polygon.emplace_back(static_cast<int>(std::lround(q.x())), static_cast<int>(std::lround(q.y())));
  }
  cv::fillPoly(mask, std::vector<std::vector<cv::Point>>{polygon}, cv::Scalar(255));
}

Polyline rectangle(const geometry::Rigid2& place, double half_width, double half_height) {
  return {place * Vec2(-half_width, -half_height), place * Vec2(half_width, -half_height),
          place * Vec2(half_width, half_height), place * Vec2(-half_width, half_height)};
}

/// Keeps of `mask` only what lies farther from `middle` than `from`, seen along the line between them.
void keep_far_side(cv::Mat& mask, const TableRaster& raster, const Vec2& from, const Vec2& middle) {
  const Vec2 away = from - middle;
  if (away.norm() < 1) return;
  cv::Mat half = cv::Mat::zeros(mask.size(), CV_8U);
  const Vec2 u = away.normalized(), v(-u.y(), u.x());
  constexpr double far = 4000;
  fill(half, raster, {from - far * v, from + far * v, from + far * v + far * u, from - far * v + far * u});
  mask &= half;
}

cv::Mat visible_pixels(const cv::Mat& map, const cv::Rect2d& shown) {
  cv::Mat visible(map.size(), CV_8U);
  for (int y = 0; y < map.rows; ++y) {
    const auto* m = map.ptr<cv::Vec2f>(y);
    auto* v = visible.ptr<unsigned char>(y);
    for (int x = 0; x < map.cols; ++x)
      v[x] = m[x][0] >= shown.x + 1 && m[x][1] >= shown.y + 1 && m[x][0] < shown.x + shown.width - 2 &&
                     m[x][1] < shown.y + shown.height - 2
                 ? 255
                 : 0;
  }
  return visible;
}

}  // namespace

cv::Mat disc(double diameter_px) {
  const int d = std::max(1, 2 * static_cast<int>(std::lround((diameter_px - 1) / 2)) + 1);
  return cv::getStructuringElement(cv::MORPH_ELLIPSE, cv::Size(d, d));
}

TableMasks table_masks(const TableRaster& raster, const cv::Mat& map, const cv::Rect2d& shown,
                       const capture::Sighting& sighting, const survey::TableView& view) {
  TableMasks masks;
  masks.visible = visible_pixels(map, shown);
  masks.paper = cv::Mat::zeros(raster.size, CV_8U);
  masks.margin = cv::Mat::zeros(raster.size, CV_8U);
  cv::Mat board = cv::Mat::zeros(raster.size, CV_8U);
  masks.ring = cv::Mat::zeros(raster.size, CV_8U);
  const Vec2 middle = view.table_from_photo({0.5 * view.solution().width, 0.5 * view.solution().height}, 0);
  for (const survey::SheetPlace& s : view.solution().sheets) {
    const geometry::Rigid2 place{s.theta, s.centre};
    fill(masks.paper, raster, rectangle(place, paper_half_width + paper_margin, paper_half_height + paper_margin));
    fill(masks.margin, raster, rectangle(place, margin_half_width, margin_half_height));
    fill(board, raster,
         rectangle(place, sheet::board_width / 2 + board_margin, sheet::board_height / 2 + board_margin));
    cv::Mat ring = cv::Mat::zeros(raster.size, CV_8U);
    fill(ring, raster, rectangle(place, paper_half_width + ring_outer, paper_half_height + ring_outer));
    keep_far_side(ring, raster, s.centre, middle);
    masks.ring |= ring;
  }
  masks.margin &= ~board;
  for (const capture::TagSighting& t : sighting.tags) {
    Vec2 centre = Vec2::Zero();
    Polyline corners;
    for (const Vec2& c : t.corners_in_photo) corners.push_back(view.table_from_photo(c, 0));
    for (const Vec2& c : corners) centre += 0.25 * c;
    const double margin = std::max(paper_margin, tag_margin_px * raster.mm_per_px);
    const double grow = (sheet::tag_card + 2 * margin) / sheet::tag_side;
    for (Vec2& c : corners) c = centre + grow * (c - centre);
    fill(masks.paper, raster, corners);
  }
  cv::Mat near_paper;
  cv::dilate(masks.paper, near_paper, disc(2 * (ring_inner - paper_margin) / raster.mm_per_px));
  masks.ring &= ~near_paper;
  masks.ring &= masks.visible;
  cv::Mat inner, padded;
  cv::copyMakeBorder(masks.visible, padded, 1, 1, 1, 1, cv::BORDER_CONSTANT, cv::Scalar(0));
  cv::distanceTransform(padded, inner, cv::DIST_L2, 3);
  masks.rim = (inner(cv::Rect(1, 1, raster.size.width, raster.size.height)) < rim_width / raster.mm_per_px) &
              masks.visible & ~near_paper;
  return masks;
}

}  // namespace chalkfold::trace
