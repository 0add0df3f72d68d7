// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/svg_picture.h"

#include <fmt/format.h>

#include "pipeline/geometry/polygon.h"
#include "pipeline/output/drawing/drawing.h"
#include "pipeline/output/drawing/escape.h"

namespace chalkfold::output {

Vec2 SvgFrame::operator()(const Vec2& p) const {
  return geometry::y_down_from_y_up(p, left_top.y()) - Vec2(left_top.x(), 0);
}

std::string svg_path(const Polyline& points, const SvgFrame& picture, bool closed) {
  std::string d;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Vec2 p = picture(points[i]);
    d += fmt::format("{}{} {}", i == 0 ? "M" : " L", mm_text(p.x()), mm_text(p.y()));
  }
  return d + (closed ? " Z" : "");
}

std::string svg_line(const std::string& path, const char* colour, double width, const std::string& more) {
  return fmt::format("  <path d=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\" stroke-linejoin=\"round\"{}/>\n",
                     path, colour, mm_text(width), more);
}

std::string svg_words(const std::string& text, const Vec2& at, double height, const char* anchor) {
  return fmt::format(
      "  <text x=\"{}\" y=\"{}\" font-family=\"sans-serif\" font-size=\"{}\" text-anchor=\"{}\" "
      "fill=\"{}\">{}</text>\n",
      mm_text(at.x()), mm_text(at.y()), mm_text(height), anchor, svg_dark, markup_text(text));
}

std::string svg_head(double width, double height, const std::string& title) {
  return fmt::format(
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}mm\" height=\"{1}mm\" viewBox=\"0 0 {0} {1}\">\n"
      "  <title>{2}</title>\n",
      mm_text(width), mm_text(height), markup_text(title));
}

}  // namespace chalkfold::output
