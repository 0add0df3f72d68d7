// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/piece_dxf.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>
#include <vector>

#include "pipeline/draft/piece/lettering.h"
#include "pipeline/output/drawing/dxf_groups.h"

namespace chalkfold::output {

namespace {
constexpr double remark_heights[] = {
    3, 2, 1.2};  // mm, tried in turn: remarks are for programs, they need only be readable when enlarged
constexpr double line_pitch = 1.7;            // of the height
constexpr double readers_letter_width = 1.0;  // of the height: what a reader's own letters take at most
constexpr int places_along = 24;              // tried across the box, and up it
constexpr double clearance = 1;               // mm

bool overlap(const geometry::Box& a, const geometry::Box& b) {
  return a.min.x() < b.max.x() && b.min.x() < a.max.x() && a.min.y() < b.max.y() && b.min.y() < a.max.y();
}

/// Does the stretch a-b pass through the box? Cut down to the box's range in x, then in y.
bool touches(const geometry::Box& box, const Vec2& a, const Vec2& b) {
  if ((a.cwiseMax(b).array() < box.min.array()).any() || (a.cwiseMin(b).array() > box.max.array()).any()) return false;
  double low = 0, high = 1;
  for (int axis = 0; axis < 2; ++axis) {
    const double d = b[axis] - a[axis];
    if (std::abs(d) < 1e-12) {
      if (a[axis] < box.min[axis] || a[axis] > box.max[axis]) return false;
      continue;
    }
    const double s = (box.min[axis] - a[axis]) / d, t = (box.max[axis] - a[axis]) / d;
    low = std::max(low, std::min(s, t));
    high = std::min(high, std::max(s, t));
  }
  return low <= high;
}

geometry::Box box_of(const Drawing::Text& text) {
  const Vec2 along(std::cos(text.angle), std::sin(text.angle)), up(-along.y(), along.x());
  const double length = std::max(draft::text_length(text.words, text.height),
                                 readers_letter_width * text.height * static_cast<double>(text.words.size()));
  geometry::Box box;
  for (const double x : {0.0, length}) {
    for (const double y : {-draft::letter_descent, draft::letter_ascent})
      box.add(text.at + x * along + y * text.height * up);
  }
  return box;
}

bool is_free(const Drawing& drawing, const std::vector<geometry::Box>& labels, const geometry::Box& box) {
  if (std::ranges::any_of(labels, [&](const geometry::Box& label) { return overlap(label, box); })) return false;
  for (const Drawing::Line& line : drawing.lines) {
    const std::size_t n = line.points.size();
    for (std::size_t i = 0; i + (line.closed ? 0 : 1) < n; ++i) {
      if (touches(box, line.points[i], line.points[(i + 1) % n])) return false;
    }
  }
  return geometry::contains(drawing.lines.front().points, box.centre());
}

/// Lower left corner of a free place of that size, nearest the middle of the drawing.
std::optional<Vec2> free_place(const Drawing& drawing, const Vec2& size) {
  std::vector<geometry::Box> labels;
  for (const Drawing::Text& text : drawing.texts) labels.push_back(box_of(text));
  const Vec2 step = drawing.box.size() / places_along, middle = drawing.box.centre();
  std::vector<std::pair<double, Vec2>> places;  // with their distance from the middle
  for (int i = 0; i < places_along; ++i) {
    for (int k = 0; k < places_along; ++k) {
      const Vec2 low = drawing.box.min + Vec2(i * step.x(), k * step.y());
      places.emplace_back((low + 0.5 * size - middle).norm(), low);
    }
  }
  std::ranges::stable_sort(places, {}, &std::pair<double, Vec2>::first);
  const Vec2 room = Vec2::Constant(clearance);
  const auto found = std::ranges::find_if(places, [&](const auto& place) {
    return is_free(drawing, labels, {place.second - room, place.second + size + room});
  });
  return found == places.end() ? std::nullopt : std::optional(found->second);
}
}  // namespace

Drawing with_remarks(Drawing drawing) {
  std::size_t longest = 1;
  for (const std::string& remark : drawing.remarks) longest = std::max(longest, remark.size());
  const auto lines = static_cast<double>(drawing.remarks.size());
  std::optional<Vec2> place;
  Vec2 size = Vec2::Zero();
  double height = 0;
  for (const double tried : remark_heights) {
    height = tried;
    size = Vec2(readers_letter_width * height * static_cast<double>(longest), line_pitch * height * lines);
    place = free_place(drawing, size);
    if (place) break;
  }
  Vec2 at = place ? *place + Vec2(0, size.y() - height) : drawing.box.centre();
  for (const std::string& remark : drawing.remarks) {
    drawing.texts.push_back({at, height, remark});
    at.y() -= line_pitch * height;
  }
  return drawing;
}

std::string piece_dxf(const draft::Piece& piece, const PieceDrawingOptions& options) {
  const Drawing drawing = with_remarks(drawing_of(piece, options));
  const std::string block = dxf_block_name(piece.name);
  DxfGroups out;
  begin_dxf(out, drawing.box, exchange_layers({drawing}));
  begin_dxf_block(out, block);
  add_dxf_drawing(out, drawing);
  end_dxf_block(out);
  begin_dxf_entities(out);
  add_dxf_insert(out, block, Vec2::Zero());
  return finish_dxf(out);
}

}  // namespace chalkfold::output
