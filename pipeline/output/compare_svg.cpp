// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"
#include "pipeline/output/compare_report.h"
#include "pipeline/output/drawing.h"
#include "pipeline/output/escape.h"

namespace chalkfold {

namespace {
constexpr double gap = 15;             // mm of outline between the lines that show departures
constexpr double longest_share = 0.1;  // of the smaller side: the longest of them

/// From the measured file's frame to the picture's: mm, y down, origin at its upper left.
struct Picture {
  Vec2 left_top;
  Vec2 operator()(const Vec2& p) const { return y_down_from_y_up(p, left_top.y()) - Vec2(left_top.x(), 0); }
};

std::string path(const Polyline& points, const Picture& picture, bool closed) {
  std::string d;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Vec2 p = picture(points[i]);
    d += fmt::format("{}{} {}", i == 0 ? "M" : " L", mm_text(p.x()), mm_text(p.y()));
  }
  return d + (closed ? " Z" : "");
}

std::string drawn(const std::string& d, const char* colour, double width) {
  return fmt::format("  <path d=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\" stroke-linejoin=\"round\"/>\n",
                     d, colour, mm_text(width));
}

std::string words(const std::string& text, const Vec2& at, double size) {
  return fmt::format(
      "  <text x=\"{}\" y=\"{}\" font-family=\"sans-serif\" font-size=\"{}\" fill=\"#1c1c1c\">{}</text>\n",
      mm_text(at.x()), mm_text(at.y()), mm_text(size), markup_text(text));
}

double largest_departure(const DimensionalChange& change) {
  double largest = 0;
  for (const ResidualPoint& p : change.residuals) largest = std::max(largest, std::abs(p.departure));
  return largest;
}

/// A round scale at which the longest line is about a tenth of the smaller side.
double scale_of(const DimensionalChange& change, double side) {
  const double wanted = longest_share * side / std::max(largest_departure(change), 1e-3);
  double scale = 1;
  for (const double step : {2.0, 5.0, 10.0, 20.0, 50.0, 100.0})
    if (step <= wanted) scale = step;
  return scale;
}

/// Lines from the measured outline, outward where it lies outside the reference.
std::string departures(const DimensionalChange& change, double scale, const Picture& picture) {
  std::string d;
  double next = 0;
  for (const ResidualPoint& p : change.residuals) {
    if (p.along < next) continue;
    next = p.along + gap;
    if (!d.empty()) d += ' ';
    d += path({p.point, p.point + scale * p.departure * p.outward}, picture, false);
  }
  return d;
}

std::string grain_arrow(const DimensionalChange& change, double size, const Picture& picture) {
  const Vec2 middle = centroid(change.measured_outline), half = 0.15 * size * change.direction,
             back = -0.03 * size * change.direction, side = 0.012 * size * left_of(change.direction);
  const Vec2 head = middle + half;
  std::string d = path({middle - half, head}, picture, false);
  d += ' ';
  d += path({head + back + side, head, head + back - side}, picture, false);
  return d;
}

std::string edge_numbers(const DimensionalChange& change, double size, const Picture& picture) {
  std::string out;
  if (change.edges.size() < 2) return out;
  const Vec2 middle = centroid(change.measured_outline);
  for (const EdgeChange& e : change.edges) {
    const Vec2 at = 0.5 * (e.from + e.to), inward = (middle - at).normalized();
    out += words(fmt::format("{}: {:+.2f} %", e.number, e.length.change.percent),
                 picture(at + 3 * size * inward) - Vec2(2 * size, 0), size);
  }
  return out;
}

std::vector<std::string> legend(const DimensionalChange& change, double scale) {
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

std::string compare_svg(const DimensionalChange& change) {
  if (!change.by_outline) return "";
  Box box = bounding_box(change.measured_outline);
  for (const Vec2& p : change.reference_outline) box.add(p);
  const double side = box.size().minCoeff(), letters = std::max(box.size().maxCoeff() / 45, 3.0), line = letters / 12;
  const double scale = scale_of(change, side), margin = longest_share * side + 2 * letters;
  const Picture picture{Vec2(box.min.x() - margin, box.max.y() + margin)};
  const std::vector<std::string> lines = legend(change, scale);
  std::size_t longest = 0;
  for (const std::string& text : lines) longest = std::max(longest, text.size());
  const double text_top = box.size().y() + 2 * margin,
               width = std::max(box.size().x() + 2 * margin, 0.6 * letters * static_cast<double>(longest)),
               height = text_top + 1.5 * letters * (static_cast<double>(lines.size()) + 0.5);
  std::string out = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";
  out += fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}mm\" height=\"{1}mm\" viewBox=\"0 0 {0} {1}\">\n",
      mm_text(width), mm_text(height));
  out += fmt::format("  <title>{}</title>\n", markup_text("Dimensional change of " + change.measured));
  out += drawn(path(change.reference_outline, picture, true), "#999999", 2 * line);
  if (change.done) {
    out += drawn(departures(change, scale, picture), "#b3261e", line);
    out += drawn(grain_arrow(change, box.size().maxCoeff(), picture), "#1c1c1c", 1.5 * line);
  }
  out += drawn(path(change.measured_outline, picture, true), "#1c1c1c", line);
  out += edge_numbers(change, letters, picture);
  for (std::size_t i = 0; i < lines.size(); ++i)
    out += words(lines[i], {letters, text_top + 1.5 * letters * static_cast<double>(i)}, letters);
  return out + "</svg>\n";
}

}  // namespace chalkfold
