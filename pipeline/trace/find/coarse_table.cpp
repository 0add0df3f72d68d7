// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/coarse_table.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "pipeline/trace/find/known_print.h"

namespace chalkfold::trace {

CoarseTable coarse_table(const capture::Photo& photo, const capture::Sighting& sighting, const survey::TableView& view,
                         const TraceOptions& options) {
  constexpr double raster_budget = 7e5;  // px, for speed; a table of 1.2 m x 1 m then has 1.3 mm px
  CoarseTable t;
  const geometry::Box box = geometry::bounding_box(visible_table(view, options.face_height()));
  const double mm_per_px = std::max(options.coarse_mm_per_px, std::sqrt(box.size().prod() / raster_budget));
  t.raster = raster_over(box, mm_per_px);
  const double px_per_mm = 1 / view.mm_per_px({0.5 * photo.bgr.cols, 0.5 * photo.bgr.rows});
  const int times = std::max(1, static_cast<int>(std::floor(mm_per_px * px_per_mm)));
  const double scale = 1.0 / times;
  const cv::Mat reduced = times > 1 ? reduced_by(times, photo.bgr) : photo.bgr;
  const cv::Mat map = photo_map(t.raster, view, options.face_height(), scale);
  cv::remap(reduced, t.bgr, map, {}, cv::INTER_LINEAR, cv::BORDER_REPLICATE);
  cv::Mat soft;
  cv::GaussianBlur(t.bgr, soft, {3, 3}, 0);
  cv::cvtColor(soft, t.lab, cv::COLOR_BGR2Lab);
  const cv::Rect part = photo.intact_part.empty() ? cv::Rect({}, photo.bgr.size()) : photo.intact_part;
  const double sx = static_cast<double>(reduced.cols) / photo.bgr.cols,
               sy = static_cast<double>(reduced.rows) / photo.bgr.rows;
  t.masks = table_masks(t.raster, map, cv::Rect2d(part.x * sx, part.y * sy, part.width * sx, part.height * sy),
                        sighting, view);
  constexpr double finger = 15;  // mm: the gap that panel-over-sheet asks for
  const int side = 2 * cvRound(finger / mm_per_px) + 1;
  cv::dilate(t.masks.paper, t.near_paper, cv::getStructuringElement(cv::MORPH_RECT, {side, side}));
  constexpr int frame_slack = 2;  // px: the raster's filters reach as far
  cv::erode(t.masks.visible, t.well_inside, disc(2 * frame_slack + 1), {-1, -1}, 1, cv::BORDER_CONSTANT, cv::Scalar(0));
  const KnownPrint print = known_print(t.raster, sighting, view, options.face_height());
  t.eye = look({t.bgr, print.paper, print.ink, ~t.masks.visible, mm_per_px});
  t.seen = eye_panels(t.eye, t.masks.visible, mm_per_px, options);
  return t;
}

}  // namespace chalkfold::trace
