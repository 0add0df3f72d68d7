// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"
#include "pipeline/output/drawing/drawing.h"
#include "pipeline/output/drawing/svg_picture.h"
#include "pipeline/output/report/compare_report.h"

namespace chalkfold::output {

namespace {
constexpr double gap = 15;             // mm of outline between the lines that show departures
constexpr double longest_share = 0.1;  // of the smaller side: the longest of them

double largest_departure(const draft::DimensionalChange& change) {
  double largest = 0;
  for (const draft::ResidualPoint& p : change.residuals) largest = std::max(largest, std::abs(p.departure));
  return largest;
}

/// A round scale at which the longest line is about a tenth of the smaller side.
double scale_of(const draft::DimensionalChange& change, double side) {
  const double wanted = longest_share * side / std::max(largest_departure(change), 1e-3);
  double scale = 1;
  for (const double step : {2.0, 5.0, 10.0, 20.0, 50.0, 100.0})
    if (step <= wanted) scale = step;
  return scale;
}

/// Lines from the measured outline, outward where it lies outside the reference.
std::string departures(const draft::DimensionalChange& change, double scale, const SvgFrame& picture) {
  std::string d;
  double next = 0;
  for (const draft::ResidualPoint& p : change.residuals) {
    if (p.along < next) continue;
    next = p.along + gap;
    if (!d.empty()) d += ' ';
    d += svg_path({p.point, p.point + scale * p.departure * p.outward}, picture, false);
  }
  return d;
}

std::string grain_arrow(const draft::DimensionalChange& change, double size, const SvgFrame& picture) {
  const Vec2 middle = geometry::centroid(change.measured_outline), half = 0.15 * size * change.direction,
             back = -0.03 * size * change.direction, side = 0.012 * size * geometry::left_of(change.direction);
  const Vec2 head = middle + half;
  std::string d = svg_path({middle - half, head}, picture, false);
  d += ' ';
  d += svg_path({head + back + side, head, head + back - side}, picture, false);
  return d;
}

std::string edge_numbers(const draft::DimensionalChange& change, double size, const SvgFrame& picture) {
  std::string out;
  if (change.edges.size() < 2) return out;
  const Vec2 middle = geometry::centroid(change.measured_outline);
  for (const draft::EdgeChange& e : change.edges) {
    const Vec2 at = 0.5 * (e.from + e.to), inward = (middle - at).normalized();
    out += svg_words(fmt::format("{}: {:+.2f} %", e.number, e.length.change.percent),
                     picture(at + 3 * size * inward) - Vec2(2 * size, 0), size);
  }
  return out;
}

std::vector<std::string> legend(const draft::DimensionalChange& change, double scale) {
  std::vector<std::string> lines = {fmt::format(
      "grey: {}, laid on it without stretching; black: {}, as its file shows it", change.reference, change.measured)};
  if (!change.done) return lines;
  lines.push_back(fmt::format("red: how far black lies off grey, {:g} times as long; largest {:.2f} mm", scale,
                              largest_departure(change)));
  lines.push_back(fmt::format("along the arrow {:+.2f} % (U {:.2f}), across {:+.2f} % (U {:.2f}), shear {:+.2f} deg",
                              change.along.percent, change.along.U, change.across.percent, change.across.U,
                              change.shear_deg));
  return lines;
}
}  // namespace

std::string compare_svg(const draft::DimensionalChange& change) {
  if (!change.by_outline) return "";
  geometry::Box box = geometry::bounding_box(change.measured_outline);
  for (const Vec2& p : change.reference_outline) box.add(p);
  const double side = box.size().minCoeff(), letters = std::max(box.size().maxCoeff() / 45, 3.0), line = letters / 12;
  const double scale = scale_of(change, side), margin = longest_share * side + 2 * letters;
  const SvgFrame picture{Vec2(box.min.x() - margin, box.max.y() + margin)};
  const std::vector<std::string> lines = legend(change, scale);
  std::size_t longest = 0;
  for (const std::string& text : lines) longest = std::max(longest, text.size());
  const double text_top = box.size().y() + 2 * margin,
               width = std::max(box.size().x() + 2 * margin, 0.6 * letters * static_cast<double>(longest)),
               height = text_top + 1.5 * letters * (static_cast<double>(lines.size()) + 0.5);
  std::string out = svg_head(width, height, "Dimensional change of " + change.measured);
  out += svg_line(svg_path(change.reference_outline, picture, true), "#999999", 2 * line);
  if (change.done) {
    out += svg_line(departures(change, scale, picture), "#b3261e", line);
    out += svg_line(grain_arrow(change, box.size().maxCoeff(), picture), svg_dark, 1.5 * line);
  }
  out += svg_line(svg_path(change.measured_outline, picture, true), svg_dark, line);
  out += edge_numbers(change, letters, picture);
  for (std::size_t i = 0; i < lines.size(); ++i)
    out += svg_words(lines[i], {letters, text_top + 1.5 * letters * static_cast<double>(i)}, letters);
  return out + "</svg>\n";
}

}  // namespace chalkfold::output
