// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/change_svg.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/output/drawing/drawing.h"
#include "pipeline/output/drawing/svg_picture.h"

namespace chalkfold::output {

namespace {
constexpr double longest_share = 0.1;    // of the outline's smaller side
constexpr double scale_max = 500;        // beyond it, noise would look like wear
constexpr double head_half_angle = 0.4;  // rad, of an arrow's head

/// Sizes that follow the picture's, so that it reads the same whatever the panel's size.
struct Sizes {
  explicit Sizes(double side) : line(side / 400), letters(side / 30), head(side / 50), margin(side / 25) {}
  double line, letters, head, margin;
};

/// Shaft and head, from `from` on.
std::string arrow(const Vec2& from, const Vec2& move, double head_max, const SvgFrame& picture) {
  const Vec2 tip = from + move;
  const double head = std::min(head_max, 0.5 * move.norm());
  const Vec2 back = -head * move.normalized();
  const double c = std::cos(head_half_angle), s = std::sin(head_half_angle);
  const Vec2 one(c * back.x() - s * back.y(), s * back.x() + c * back.y());
  const Vec2 other(c * back.x() + s * back.y(), -s * back.x() + c * back.y());
  return svg_path({from, tip}, picture, false) + " " + svg_path({tip + one, tip, tip + other}, picture, false);
}

/// Places along the outline `change_arrow_gap` apart, as indices of its points.
std::vector<std::size_t> arrow_places(const Polyline& before) {
  std::vector<std::size_t> places;
  double since = change_arrow_gap;
  for (std::size_t i = 0; i < before.size(); ++i) {
    if (i > 0) since += (before[i] - before[i - 1]).norm();
    if (since < change_arrow_gap - 1e-6) continue;
    places.push_back(i);
    since = 0;
  }
  return places;
}

std::string arrows(const draft::ShapeChange& change, double scale, const Sizes& sizes, const SvgFrame& picture) {
  std::string d;
  for (const std::size_t i : arrow_places(change.before)) {
    const Vec2 move = scale * change.moves[i];
    if (move.norm() < 2 * sizes.line) continue;  // no longer than its line is wide
    if (!d.empty()) d += ' ';
    d += arrow(change.before[i], move, sizes.head, picture);
  }
  return d;
}

Polyline moved(const draft::ShapeChange& change, double scale) {
  Polyline after;
  for (std::size_t i = 0; i < change.before.size(); ++i) after.push_back(change.before[i] + scale * change.moves[i]);
  return after;
}

geometry::Box picture_box(const draft::ShapeChange& change, const draft::Piece& piece, double scale) {
  geometry::Box box;
  for (const Polyline& line : {change.before, moved(change, 1), moved(change, scale)}) {
    for (const Vec2& p : line) box.add(p);
  }
  if (piece.axis) {
    for (const Vec2& p : *piece.axis) box.add(p);
  }
  return box;
}
}  // namespace

double change_scale(const draft::ShapeChange& change) {
  double largest = 0;
  for (const Vec2& move : change.moves) largest = std::max(largest, move.norm());
  if (change.before.empty() || !(largest > 0)) return 1;
  const double wanted = longest_share * geometry::bounding_box(change.before).size().minCoeff() / largest;
  double scale = 1;
  for (const double step : {2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, scale_max}) {
    if (step <= wanted) scale = step;
  }
  return scale;
}

std::string change_svg(const draft::ShapeChange& change, const draft::Piece& piece, double scale) {
  require_above("scale of the moves", scale, 0);
  require_equal("moves of the change", change.moves.size(), change.before.size());
  if (!change.done || change.before.size() < 3) return "";
  const geometry::Box box = picture_box(change, piece, scale);
  const Sizes sizes(std::max(box.size().x(), 0.5 * box.size().y()));
  const SvgFrame picture{Vec2(box.min.x() - sizes.margin, box.max.y() + sizes.margin)};
  const std::vector<std::string> lines = {
      fmt::format("{}: grey before, black after", piece.side == draft::Side::face ? "face up" : "inside up"),
      fmt::format("arrows {:g} times as long as the moves", scale),
      fmt::format("largest move {:.2f} mm, rms {:.2f} mm", change.largest, change.rms)};
  const double width = std::max(box.size().x() + 2 * sizes.margin, 24 * sizes.letters);
  const double text_top = box.size().y() + 2 * sizes.margin;
  const double height = text_top + 1.4 * sizes.letters * static_cast<double>(lines.size()) + sizes.margin;

  std::string out = svg_head(width, height, piece.name + ": what was moved");
  out += svg_line(svg_path(change.before, picture, true), "#999999", 2 * sizes.line);
  if (piece.axis) {
    const std::string dashes =
        fmt::format(" stroke-dasharray=\"{0} {1} {1} {1}\"", mm_text(12 * sizes.line), mm_text(3 * sizes.line));
    out += svg_line(svg_path({(*piece.axis)[0], (*piece.axis)[1]}, picture, false), svg_dark, sizes.line, dashes);
  }
  out += svg_line(svg_path(moved(change, 1), picture, true), svg_dark, sizes.line);
  const std::string shafts = arrows(change, scale, sizes, picture);
  if (!shafts.empty()) out += svg_line(shafts, "#b3261e", sizes.line);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    out += svg_words(lines[i], {sizes.margin, text_top + 1.4 * sizes.letters * (static_cast<double>(i) + 0.8)},
                     sizes.letters);
  }
  return out + "</svg>\n";
}

}  // namespace chalkfold::output
