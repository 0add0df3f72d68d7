// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/picture_labels.h"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <opencv2/imgproc.hpp>
#include <stdexcept>

#include "pipeline/common/utf8.h"

namespace chalkfold {

namespace {
// Sizes in the strip of labels, px where a picture is looked at in its own size; see label_scale.
constexpr double indent_px = 14, name_px = 19, words_px = 13, bar_px = 8, gap_px = 8;
constexpr double name_baseline_px = 25, bars_top_px = 40, U_baseline_px = 69, photo_baseline_px = 87, strip_px = 98;
constexpr double bar_mm = 50;        // scale bar
constexpr double bar_block_mm = 10;  // its black and white blocks
constexpr double U_bar_mm = 1;       // the U that the sample whisker stands for

/// Larger pictures are shown reduced, on a page or in the report: their labels are drawn that much larger, so that they
/// can still be read there.
double label_scale(const PictureFrame& frame) {
  constexpr double shown_px = 640, largest = 3;  // height of a picture in the report
  return std::clamp(frame.height_px / shown_px, 1.0, largest);
}

struct Colour {
  double r, g, b;
};
constexpr Colour ink{0, 0, 0}, paper{1, 1, 1}, mark{0.75, 0.2, 0};  // mark prints as a middle grey

/// Cairo on a picture's own pixels (CV_8UC4, blue first: Cairo's RGB24 on a little-endian machine).
class Canvas {
 public:
  explicit Canvas(cv::Mat& bgrx)
      : surface_(cairo_image_surface_create_for_data(bgrx.data, CAIRO_FORMAT_RGB24, bgrx.cols, bgrx.rows,
                                                     static_cast<int>(bgrx.step)),
                 cairo_surface_destroy),
        cairo_(cairo_create(surface_.get()), cairo_destroy) {
    cairo_set_line_join(cairo_.get(), CAIRO_LINE_JOIN_ROUND);
  }

  void closed(const Polyline& points) {
    for (std::size_t i = 0; i < points.size(); ++i) {
      if (i == 0) cairo_move_to(cairo_.get(), points[i].x(), points[i].y());
      cairo_line_to(cairo_.get(), points[i].x(), points[i].y());
    }
    cairo_close_path(cairo_.get());
  }
  void segment(const Vec2& a, const Vec2& b) {
    cairo_move_to(cairo_.get(), a.x(), a.y());
    cairo_line_to(cairo_.get(), b.x(), b.y());
  }
  /// Strokes what was gathered, first wide in paper white, so that it shows on dark and on light cloth.
  void stroke(const Colour& colour, double width, double halo) {
    colour_(paper);
    cairo_set_line_width(cairo_.get(), width + 2 * halo);
    cairo_stroke_preserve(cairo_.get());
    colour_(colour);
    cairo_set_line_width(cairo_.get(), width);
    cairo_stroke(cairo_.get());
  }
  void box(const Vec2& corner, const Vec2& size, const Colour& colour) {
    colour_(colour);
    cairo_rectangle(cairo_.get(), corner.x(), corner.y(), size.x(), size.y());
    cairo_fill(cairo_.get());
  }
  /// Text with its baseline's left end at a place, made smaller when it would be wider than `room`. Returns its width.
  double text(const Vec2& at, const std::string& words, double size, bool bold, double room) {
    cairo_select_font_face(cairo_.get(), "sans-serif", CAIRO_FONT_SLANT_NORMAL,
                           bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(cairo_.get(), size);
    cairo_text_extents_t extents{};
    cairo_text_extents(cairo_.get(), words.c_str(), &extents);
    if (extents.x_advance > room) {
      cairo_set_font_size(cairo_.get(), size * room / extents.x_advance);
      extents.x_advance = room;
    }
    colour_(ink);
    cairo_move_to(cairo_.get(), at.x(), at.y());
    cairo_show_text(cairo_.get(), words.c_str());
    return extents.x_advance;
  }
  void finish() {
    cairo_surface_flush(surface_.get());
    if (cairo_status(cairo_.get()) != CAIRO_STATUS_SUCCESS) {
      throw std::runtime_error(std::string("drawing a picture: ") + cairo_status_to_string(cairo_status(cairo_.get())));
    }
  }

 private:
  void colour_(const Colour& c) { cairo_set_source_rgb(cairo_.get(), c.r, c.g, c.b); }

  std::unique_ptr<cairo_surface_t, void (*)(cairo_surface_t*)> surface_;
  std::unique_ptr<cairo_t, void (*)(cairo_t*)> cairo_;
};

Polyline in_picture(const Polyline& points_in_table, const PictureFrame& frame) {
  Polyline out;
  out.reserve(points_in_table.size());
  for (const Vec2& p : points_in_table) out.push_back(frame.picture_from_table(p));
  return out;
}

/// Whiskers stand on the right of the direction of travel: outlines run counter-clockwise and cut-outs clockwise, so
/// that is away from the material.
void draw_whiskers(Canvas& canvas, const Contour& contour, const PictureFrame& frame, const PictureOptions& options) {
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

void draw_contours(Canvas& canvas, const PictureFrame& frame, const Panel& panel, const PictureOptions& options) {
  draw_whiskers(canvas, panel.outline, frame, options);
  for (const Contour& cutout : panel.cutouts) draw_whiskers(canvas, cutout, frame, options);
  canvas.stroke(mark, 1.6 * std::sqrt(label_scale(frame)), 0.8);
  // The outline stays thin whatever the picture's size: one judges by it where the edge was found.
  canvas.closed(in_picture(panel.outline.points, frame));
  for (const Contour& cutout : panel.cutouts) canvas.closed(in_picture(cutout.points, frame));
  canvas.stroke(ink, 1.0, 0.8);
}

void draw_scale_bar(Canvas& canvas, const Vec2& at, double px_per_mm, double height) {
  canvas.box(at - Vec2(1, 1), Vec2(bar_mm * px_per_mm + 2, height + 2), ink);
  for (int k = 0; k * bar_block_mm < bar_mm; ++k) {
    if (k % 2 == 1)
      canvas.box(at + Vec2(k * bar_block_mm * px_per_mm, 0), Vec2(bar_block_mm * px_per_mm, height), paper);
  }
}

void draw_strip(Canvas& canvas, double top_px, const PictureFrame& frame, const Panel& panel,
                const PictureOptions& options) {
  const double px_per_mm = 1 / frame.mm_per_px, s = label_scale(frame), left = indent_px * s,
               room = frame.width_px - 2 * left;
  const auto down = [&](double px) { return top_px + s * px; };
  canvas.box({0, top_px}, Vec2(frame.width_px, s * strip_px), paper);
  canvas.text({left, down(name_baseline_px)}, plain_text(panel.name), s * name_px, true, room);

  draw_scale_bar(canvas, {left, down(bars_top_px)}, px_per_mm, s * bar_px);
  double x = left + bar_mm * px_per_mm + s * gap_px;
  const double words = down(bars_top_px + bar_px + 1);
  x += canvas.text({x, words}, fmt::format("{:.0f} mm", bar_mm), s * words_px, false, room) + 3 * s * gap_px;
  const double sample_px = options.whisker_gain * U_bar_mm * px_per_mm, middle = down(bars_top_px + bar_px / 2);
  canvas.segment({x, middle}, {x + sample_px, middle});
  canvas.stroke(mark, 1.6 * std::sqrt(s), 0.8);
  x += sample_px + s * gap_px;
  canvas.text({x, words}, fmt::format("U = {:.0f} mm, drawn {:.0f} x", U_bar_mm, options.whisker_gain), s * words_px,
              false, frame.width_px - left - x);
  canvas.text({left, down(U_baseline_px)},
              fmt::format("U of this outline: median {:.2f} mm, worst {:.2f} mm", panel.U_median, panel.U_max),
              s * words_px, false, room);
  canvas.text({left, down(photo_baseline_px)},
              fmt::format("as photographed in {}, seen from above, never mirrored", plain_text(panel.photo)),
              s * words_px, false, room);
}
}  // namespace

cv::Mat with_labels(const cv::Mat& picture, const PictureFrame& frame, const Panel& panel,
                    const PictureOptions& options) {
  const int strip_rows = static_cast<int>(std::ceil(label_scale(frame) * strip_px));
  cv::Mat bgrx(picture.rows + strip_rows, picture.cols, CV_8UC4, cv::Scalar::all(255));
  cv::Mat upper = bgrx.rowRange(0, picture.rows);
  cv::cvtColor(picture, upper, cv::COLOR_BGR2BGRA);
  Canvas canvas(bgrx);
  draw_contours(canvas, frame, panel, options);
  draw_strip(canvas, picture.rows, frame, panel, options);
  canvas.finish();
  cv::Mat bgr;
  cv::cvtColor(bgrx, bgr, cv::COLOR_BGRA2BGR);
  return bgr;
}

}  // namespace chalkfold
