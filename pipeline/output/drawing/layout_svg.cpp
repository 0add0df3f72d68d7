// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/layout_svg.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "pipeline/common/utf8.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"
#include "pipeline/output/drawing/drawing.h"
#include "pipeline/output/drawing/svg_picture.h"

namespace chalkfold::output {
namespace {

constexpr double margin = 30, line = 2, thin = 1;                   // mm, read when a roll of two metres fills a page
constexpr double letters_max = 40, letters_min = 12, caption = 36;  // mm, height of the font
constexpr double letter_width = 0.6;  // of its height, of a sans-serif's letters on the average, generously
constexpr double arrow_head = 25, arrow_max = 160;  // mm

std::string drawn(const Polyline& points, const SvgFrame& picture, bool closed, double width, const char* more = "") {
  return svg_line(svg_path(points, picture, closed), svg_dark, width, more);
}

/// How far a level line reaches within the outline to either side of a point that lies in it.
double room_across(const Polyline& outline, const Vec2& at) {
  double left = -1e9, right = 1e9;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Vec2 &a = outline[i], &b = outline[(i + 1) % outline.size()];
    if ((a.y() > at.y()) == (b.y() > at.y())) continue;
    const double x = a.x() + (at.y() - a.y()) / (b.y() - a.y()) * (b.x() - a.x()) - at.x();
    if (x < 0) left = std::max(left, x);
    if (x >= 0) right = std::min(right, x);
  }
  return std::min(-left, right);
}

/// The place on a grid in the outline where most room is for words, the nearest to its middle of equal ones, and that room's half width.
std::pair<Vec2, double> place_for_words(const Polyline& outline) {
  constexpr int steps = 12;
  const geometry::Box box = geometry::bounding_box(outline);
  std::pair<Vec2, double> best{box.centre(), 0};
  double most = 0;
  for (int i = 1; i < steps; ++i) {
    for (int k = 1; k < steps; ++k) {
      const Vec2 at = box.min + Vec2(box.size().x() * i / steps, box.size().y() * k / steps);
      if (!geometry::contains(outline, at)) continue;
      const double across = room_across(outline, at), around = geometry::distance_to(outline, at, true);
      const double room = std::min(across, 1.5 * around) - 0.02 * (at - box.centre()).norm();
      if (room <= most) continue;
      most = room;
      best = {at, across};
    }
  }
  return best;
}

std::string grain_arrow(const std::array<Vec2, 2>& grain, bool directed, const Vec2& at, double room,
                        const SvgFrame& picture) {
  const Vec2 d = (grain[1] - grain[0]).normalized(), side = geometry::left_of(d);
  const double half = 0.5 * std::clamp(1.6 * room, 2 * arrow_head, arrow_max), head = std::min(arrow_head, half);
  const Vec2 tail = at - half * d, tip = at + half * d;
  std::string out = drawn({tail, tip}, picture, false, thin);
  out += drawn({tip - head * d + 0.4 * head * side, tip, tip - head * d - 0.4 * head * side}, picture, false, thin);
  if (!directed)
    out +=
        drawn({tail + head * d + 0.4 * head * side, tail, tail + head * d - 0.4 * head * side}, picture, false, thin);
  return out;
}

std::string copy_svg(const draft::LaidCopy& copy, const draft::Piece& piece, const SvgFrame& picture) {
  const Polyline outline = draft::outline_on_roll(copy.asked, copy.place);
  std::string out = drawn(outline, picture, true, line);
  const auto [at, room] = place_for_words(outline);
  const double around = geometry::distance_to(outline, at, true);
  if (copy.grain) {
    const geometry::Rigid2 place = copy.place.roll_from_piece();
    const std::array<Vec2, 2> grain = {place * (*copy.grain)[0], place * (*copy.grain)[1]};
    const Vec2 below = at - Vec2(0, std::min(0.45 * around, 0.6 * letters_max));
    out += grain_arrow(grain, piece.grain_directed, below, room, picture);
  }
  std::string label = fmt::format("{} {}{}", piece.number, plain_text(piece.name), copy.mirrored ? ", mirrored" : "");
  const auto height_for = [&, room = room](const std::string& text) {
    const auto count = static_cast<double>(code_points(text).size());
    return std::min({letters_max, 2 * room / (letter_width * count), 1.2 * around});
  };
  if (height_for(label) < letters_min) label = fmt::format("{}{}", piece.number, copy.mirrored ? " M" : "");
  return out +
         svg_words(label, picture(at) - Vec2(0, 0.1 * letters_max), std::max(letters_min, height_for(label)), "middle");
}

}  // namespace

std::string layout_svg(const draft::MaterialNeed& need, const std::vector<draft::Piece>& pieces) {
  if (!(need.roll_length > 0)) return "";
  const double width = draft::usable_width(need.options);
  const SvgFrame picture{Vec2(-margin, width + margin)};
  const std::vector<std::string> lines = {
      fmt::format("{}: {:.0f} mm of roll, {:.0f} mm usable across, inside up", need.material, need.roll_length, width),
      fmt::format("{:.0f} % of it is pieces, {:g} mm apart. A good layout, not the best one.", 100 * need.roll_share,
                  need.options.gap)};
  double words_width = 0;
  for (const std::string& text : lines)
    words_width = std::max(words_width, letter_width * caption * static_cast<double>(code_points(text).size()));
  const double all_width = std::max(need.roll_length, words_width) + 2 * margin;
  const double all_height = width + 2 * margin + 1.4 * caption * static_cast<double>(lines.size());
  std::string out = svg_head(all_width, all_height, "layout: " + need.material);
  const char* const dashed = " stroke-dasharray=\"20 8\"";
  out += drawn({{0, 0}, {need.roll_length, 0}}, picture, false, thin);
  out += drawn({{0, width}, {need.roll_length, width}}, picture, false, thin);
  out += drawn({{0, 0}, {0, width}}, picture, false, line);
  out += drawn({{need.roll_length, 0}, {need.roll_length, width}}, picture, false, thin, dashed);
  for (const draft::LaidCopy& copy : need.copies)
    if (copy.place.placed) out += copy_svg(copy, pieces.at(copy.piece), picture);
  for (std::size_t i = 0; i < lines.size(); ++i)
    out += svg_words(lines[i], {margin, width + 2 * margin + 1.4 * caption * (static_cast<double>(i) + 0.5)}, caption,
                     "start");
  return out + "</svg>\n";
}

}  // namespace chalkfold::output
