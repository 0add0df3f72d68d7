// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cairo.h>

#include <memory>
#include <opencv2/core.hpp>
#include <string>
#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::output {

struct CanvasColour {
  double r, g, b;
};
inline constexpr CanvasColour canvas_ink{0, 0, 0}, canvas_paper{1, 1, 1},
    /// mark prints as a middle grey
    canvas_mark{0.75, 0.2, 0};

/// Cairo on a picture's own pixels (CV_8UC4, blue first: Cairo's RGB24 on a little-endian machine). Picture px, y down.
class PictureCanvas {
 public:
  explicit PictureCanvas(cv::Mat& bgrx);

  void closed(const Polyline& points);
  void open(const Polyline& points);
  void segment(const Vec2& a, const Vec2& b);
  void circle(const Vec2& centre, double radius);
  /// Lengths of strokes and gaps, px, of what is stroked from now on; empty for solid lines.
  void dashes(const std::vector<double>& lengths);
  /// Strokes what was gathered, first wide in paper white, so that it shows on dark and on light cloth.
  void stroke(const CanvasColour& colour, double width, double halo);
  void box(const Vec2& corner, const Vec2& size, const CanvasColour& colour);
  /// Text with its baseline's left end at a place, made smaller when it would be wider than `room`. Returns its width.
  double text(const Vec2& at, const std::string& words, double size, bool bold, double room);
  /// Throws std::runtime_error when Cairo ran out of memory.
  void finish();

 private:
  void set_colour(const CanvasColour& c);

  std::unique_ptr<cairo_surface_t, void (*)(cairo_surface_t*)> surface_;
  std::unique_ptr<cairo_t, void (*)(cairo_t*)> cairo_;
};

}  // namespace chalkfold::output
