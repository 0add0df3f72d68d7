// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/pictures/picture_labels.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "pipeline/common/utf8.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/output/pictures/picture_canvas.h"
#include "pipeline/output/pictures/picture_marks.h"

namespace chalkfold::output {

namespace {
// Sizes in the strip of labels, px where a picture is looked at in its own size; see label_scale.
constexpr double indent_px = 14, name_px = 19, words_px = 13, bar_px = 8, gap_px = 8;
constexpr double name_baseline_px = 25, bars_top_px = 40, U_baseline_px = 69, photo_baseline_px = 87, strip_px = 98,
                 legend_px = 24;     // added for the marks' legend when there are marks
constexpr double bar_mm = 50;        // scale bar
constexpr double bar_block_mm = 10;  // its black and white blocks
constexpr double U_bar_mm = 1;       // the U that the sample whisker stands for

/// Larger pictures are shown reduced, on a page or in the report: their labels are drawn that much larger, so that they
/// can still be read there.
double label_scale(const PictureFrame& frame) {
  constexpr double shown_px = 640, largest = 3;  // height of a picture in the report
  return std::clamp(frame.height_px / shown_px, 1.0, largest);
}

Polyline in_picture(const Polyline& points_in_table, const PictureFrame& frame) {
  Polyline out;
  out.reserve(points_in_table.size());
  for (const Vec2& p : points_in_table) out.push_back(frame.picture_from_table(p));
  return out;
}

/// Whiskers stand on the right of the direction of travel: outlines run counter-clockwise and cut-outs clockwise, so
/// that is away from the material.
void draw_whiskers(PictureCanvas& canvas, const panel::Contour& contour, const PictureFrame& frame,
                   const PictureOptions& options) {
  double since = options.whisker_every;  // the first stands on the first point
  const std::size_t n = contour.points.size();
  for (std::size_t i = 0; i < n && i < contour.U.size(); ++i) {
    const Vec2& at = contour.points[i];
    const Vec2 along = contour.points[(i + 1) % n] - contour.points[(i + n - 1) % n];
    if (since >= options.whisker_every && along.norm() > 0) {
      const Vec2 away = Vec2(along.y(), -along.x()).normalized();
      canvas.segment(frame.picture_from_table(at),
                     frame.picture_from_table(at + options.whisker_gain * contour.U[i] * away));
      since = 0;
    }
    since += (contour.points[(i + 1) % n] - at).norm();
  }
}

void draw_contours(PictureCanvas& canvas, const PictureFrame& frame, const panel::Panel& panel,
                   const PictureOptions& options) {
  draw_whiskers(canvas, panel.outline, frame, options);
  for (const panel::Contour& cutout : panel.cutouts) draw_whiskers(canvas, cutout, frame, options);
  canvas.stroke(canvas_mark, 1.6 * std::sqrt(label_scale(frame)), 0.8);
  // The outline stays thin whatever the picture's size: one judges by it where the edge was found.
  canvas.closed(in_picture(panel.outline.points, frame));
  for (const panel::Contour& cutout : panel.cutouts) canvas.closed(in_picture(cutout.points, frame));
  canvas.stroke(canvas_ink, 1.0, 0.8);
}

/// Flaws in dashes, each with its number on a patch of white.
void draw_flaws(PictureCanvas& canvas, const PictureFrame& frame, const std::vector<panel::Flaw>& flaws, double scale) {
  for (std::size_t i = 0; i < flaws.size(); ++i) {
    canvas.dashes({9 * scale, 4 * scale});
    canvas.closed(in_picture(flaws[i].ring, frame));
    canvas.stroke(canvas_mark, 2 * scale, 0.8);
    canvas.dashes({});
    const std::string words = std::to_string(i + 1);
    const double size = words_px * scale, wide = 0.6 * size * static_cast<double>(words.size());
    const Vec2 middle = frame.picture_from_table(geometry::bounding_box(flaws[i].ring).centre());
    canvas.box(middle - Vec2(wide, size) / 2, Vec2(wide, size), canvas_paper);
    canvas.text(middle + Vec2(-wide / 2 + 1, 0.36 * size), words, size, false, wide);
  }
}

void draw_scale_bar(PictureCanvas& canvas, const Vec2& at, double px_per_mm, double height) {
  canvas.box(at - Vec2(1, 1), Vec2(bar_mm * px_per_mm + 2, height + 2), canvas_ink);
  for (int k = 0; k * bar_block_mm < bar_mm; ++k) {
    if (k % 2 == 1)
      canvas.box(at + Vec2(k * bar_block_mm * px_per_mm, 0), Vec2(bar_block_mm * px_per_mm, height), canvas_paper);
  }
}

void draw_strip(PictureCanvas& canvas, double top_px, const PictureFrame& frame, const panel::Panel& panel,
                const PictureOptions& options) {
  const double px_per_mm = 1 / frame.mm_per_px, s = label_scale(frame), left = indent_px * s,
               room = frame.width_px - 2 * left;
  const auto down = [&](double px) { return top_px + s * px; };
  canvas.box({0, top_px}, Vec2(frame.width_px, s * (strip_px + legend_px)), canvas_paper);
  canvas.text({left, down(name_baseline_px)}, plain_text(panel.name), s * name_px, true, room);

  draw_scale_bar(canvas, {left, down(bars_top_px)}, px_per_mm, s * bar_px);
  double x = left + bar_mm * px_per_mm + s * gap_px;
  const double words = down(bars_top_px + bar_px + 1);
  x += canvas.text({x, words}, fmt::format("{:.0f} mm", bar_mm), s * words_px, false, room) + 3 * s * gap_px;
  const double sample_px = options.whisker_gain * U_bar_mm * px_per_mm, middle = down(bars_top_px + bar_px / 2);
  canvas.segment({x, middle}, {x + sample_px, middle});
  canvas.stroke(canvas_mark, 1.6 * std::sqrt(s), 0.8);
  x += sample_px + s * gap_px;
  canvas.text({x, words}, fmt::format("U = {:.0f} mm, drawn {:.0f} x", U_bar_mm, options.whisker_gain), s * words_px,
              false, frame.width_px - left - x);
  canvas.text({left, down(U_baseline_px)},
              fmt::format("U of this outline: median {:.2f} mm, worst {:.2f} mm{}", panel.U_median, panel.U_max,
                          panel.flaws.empty() ? "" : "; dashed: flaws by number, to the outer edge of their rings"),
              s * words_px, false, room);
  canvas.text({left, down(photo_baseline_px)},
              fmt::format("as photographed in {}, seen from above, never mirrored", plain_text(panel.photo)),
              s * words_px, false, room);
  draw_marks_legend(canvas, {left, down(photo_baseline_px + legend_px)}, panel.marks, s, room);
}
}  // namespace

cv::Mat with_labels(const cv::Mat& picture, const PictureFrame& frame, const panel::Panel& panel,
                    const PictureOptions& options) {
  const int strip_rows =
      static_cast<int>(std::ceil(label_scale(frame) * (strip_px + (has_marks(panel.marks) ? legend_px : 0))));
  cv::Mat bgrx(picture.rows + strip_rows, picture.cols, CV_8UC4, cv::Scalar::all(255));
  cv::Mat upper = bgrx.rowRange(0, picture.rows);
  cv::cvtColor(picture, upper, cv::COLOR_BGR2BGRA);
  PictureCanvas canvas(bgrx);
  draw_contours(canvas, frame, panel, options);
  draw_flaws(canvas, frame, panel.flaws, label_scale(frame));
  draw_marks(canvas, frame, panel.marks, label_scale(frame));
  draw_strip(canvas, picture.rows, frame, panel, options);
  canvas.finish();
  cv::Mat bgr;
  cv::cvtColor(bgrx, bgr, cv::COLOR_BGRA2BGR);
  return bgr;
}

}  // namespace chalkfold::output
