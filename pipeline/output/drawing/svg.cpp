// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/svg.h"

#include <fmt/format.h>

#include <map>

#include "pipeline/common/check_option.h"
#include "pipeline/output/drawing/escape.h"

namespace chalkfold::output {

namespace {
std::string path_of(const Drawing::Line& line, const Vec2& left_bottom, double top) {
  std::string d;
  for (std::size_t i = 0; i < line.points.size(); ++i) {
    const Vec2 p = geometry::y_down_from_y_up(line.points[i], top) - Vec2(left_bottom.x(), 0);
    d += fmt::format("{}{} {}", i == 0 ? "M" : " L", mm_text(p.x()), mm_text(p.y()));
  }
  if (line.closed) d += " Z";
  return fmt::format("    <path d=\"{}\"/>\n", d);
}

std::string circle_of(const Drawing::Spot& spot, const Vec2& left_bottom, double top) {
  const Vec2 p = geometry::y_down_from_y_up(spot.at, top) - Vec2(left_bottom.x(), 0);
  return fmt::format("    <circle cx=\"{}\" cy=\"{}\" r=\"{}\"/>\n", mm_text(p.x()), mm_text(p.y()),
                     mm_text(spot.radius));
}

std::string description(const Drawing& drawing) {
  std::string words;
  const auto add = [&words](const std::string& text) { words += (words.empty() ? "" : "; ") + markup_text(text); };
  for (const std::string& remark : drawing.remarks) add(remark);
  for (const Drawing::Text& text : drawing.texts) add(text.words);
  return words;
}
}  // namespace

void check(const SvgOptions& o) {
  check_option("margin of the SVG, mm,", o.margin, 0, 1000);
  check_option("stroke of the SVG, mm,", o.stroke, 0.001, 100);
}

std::string svg_of(const Drawing& drawing, const SvgOptions& options) {
  check(options);
  const Vec2 margin = Vec2::Constant(options.margin);
  const Vec2 low = drawing.box.min - margin, high = drawing.box.max + margin;
  const std::string width = mm_text(high.x() - low.x()), height = mm_text(high.y() - low.y());

  std::map<Layer, std::string> groups;
  for (const Drawing::Line& line : drawing.lines) groups[line.layer] += path_of(line, low, high.y());

  for (const Drawing::Spot& spot : drawing.spots) groups[spot.layer] += circle_of(spot, low, high.y());

  std::string out = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";
  out += fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}mm\" height=\"{1}mm\" viewBox=\"0 0 {0} {1}\">\n", width,
      height);
  out += fmt::format("  <title>{}</title>\n  <desc>{}</desc>\n", markup_text(drawing.name), description(drawing));
  for (const auto& [layer, paths] : groups) {
    out += fmt::format(
        "  <g id=\"layer-{}\" fill=\"none\" stroke=\"#000000\" stroke-width=\"{}\" stroke-linejoin=\"round\">\n",
        static_cast<int>(layer), options.stroke);
    out += fmt::format("    <title>{}</title>\n{}  </g>\n", markup_text(layer_title(layer)), paths);
  }
  return out + "</svg>\n";
}

std::string svg_of(const panel::Panel& panel, const SvgOptions& options) { return svg_of(drawing_of(panel), options); }

}  // namespace chalkfold::output
