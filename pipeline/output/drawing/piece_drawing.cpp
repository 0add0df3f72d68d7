// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/piece_drawing.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/common/require.h"
#include "pipeline/common/utf8.h"
#include "pipeline/draft/piece/lettering.h"
#include "pipeline/draft/piece/side_label.h"

namespace chalkfold::output {

namespace {
// Drafted corners are sharp and edges are smooth; between the two there is nothing but what offsetting leaves.
constexpr double corner_turn = 0.1;     // rad
constexpr double vee_half_width = 0.5;  // of the depth. Common practice, no source.
constexpr double grain_head = 0.1;      // of the arrow's length
constexpr int round_parts = 12;         // chords of a half circle: 0.04 mm off at 5 mm
// readers' letters are up to a third wider than ours, for which the labels were placed
constexpr double readers_width = 0.75;
constexpr double join_off = 0.01;  // mm between the ends of two segments that meet

/// Where the line through `point` along the unit `along` meets the closed line, nearest to `point` and within `reach`;
/// `point` itself when it does not.
Vec2 slid_onto(const Polyline& closed, const Vec2& point, const Vec2& along, double reach) {
  double best = reach;
  Vec2 found = point;
  for (std::size_t i = 0; i < closed.size(); ++i) {
    const Vec2 &a = closed[i], d = closed[(i + 1) % closed.size()] - a;
    const double cross = along.x() * d.y() - along.y() * d.x();
    if (std::abs(cross) < 1e-12) continue;
    const Vec2 to = a - point;
    const double s = (to.x() * d.y() - to.y() * d.x()) / cross, t = (to.x() * along.y() - to.y() * along.x()) / cross;
    if (t < 0 || t > 1 || std::abs(s) >= best) continue;
    best = std::abs(s);
    found = point + s * along;
  }
  return found;
}

double turn(const Vec2& before, const Vec2& after) {
  return std::abs(std::atan2(before.x() * after.y() - before.y() * after.x(), before.dot(after)));
}

/// Ends of the cut line's segments: corners and the points where a curve goes on.
void add_turn_and_curve_points(Drawing& drawing, const draft::Piece& piece, const Vec2& origin) {
  for (std::size_t i = 0; i < piece.cut.size(); ++i) {
    const geometry::CurveSegment &before = piece.cut[(i + piece.cut.size() - 1) % piece.cut.size()],
                                 &after = piece.cut[i];
    if ((before.to - after.from).norm() > join_off)
      throw PreconditionError(fmt::format("cut line of '{}' is open before segment {}", piece.name, i));
    const bool corner = turn(before.direction(1), after.direction(0)) > corner_turn;
    drawing.spots.push_back({corner ? Layer::turn_points : Layer::curve_points, after.from - origin});
  }
}

void add_lines(Drawing& drawing, const draft::Piece& piece, const Vec2& origin, bool sew_line) {
  const auto add = [&](Layer layer, Polyline points, bool closed) {
    if (closed && points.size() > 2 && (points.front() - points.back()).norm() < join_off) points.pop_back();
    drawing.lines.push_back({layer, in_panel_frame(points, origin), closed});
  };
  add(Layer::boundary, piece.cut_line, true);
  for (const Polyline& cutout : piece.cutouts) add(Layer::cutouts, cutout, true);
  for (const draft::PieceMark& mark : piece.marks) add(Layer::marks, mark_course(piece, mark), false);
  if (piece.axis) add(Layer::mirror, {(*piece.axis)[0], (*piece.axis)[1]}, false);
  if (piece.grain) add(Layer::grain, {(*piece.grain)[0], (*piece.grain)[1]}, false);
  for (const Polyline& line : piece.internal) add(Layer::internal, line, line.size() > 2);
  if (sew_line && !piece.sew_line.empty()) add(Layer::sew, piece.sew_line, true);
}

/// A label keeps the end of its baseline when its words change: a block of lines turned over is even on its right.
void reword(draft::PieceLabel& label, std::string_view words) {
  const double length = draft::text_length(words, label.height);
  label.at += (label.length - length) * Vec2(std::cos(label.angle), std::sin(label.angle));
  label.length = length;
  label.words = words;
}
}  // namespace

draft::Piece shown_piece(const draft::Piece& piece, bool face) {
  if (!face || piece.side == draft::Side::face) return piece;
  draft::Piece shown = draft::other_side(piece);
  std::erase_if(shown.labels, [](const draft::PieceLabel& label) { return label.words == "U"; });
  for (draft::PieceLabel& label : shown.labels) {
    if (label.words == draft::side_label(piece.side)) reword(label, draft::side_label(shown.side));
  }
  return shown;
}

Vec2 piece_origin(const draft::Piece& piece) {
  require_at_least("points of the cut line of " + plain_text(piece.name), piece.cut_line.size(), 3);
  return geometry::bounding_box(piece.cut_line).min;
}

Drawing drawing_of(const draft::Piece& given, const PieceDrawingOptions& options) {
  const draft::Piece piece = shown_piece(given, options.face);
  const Vec2 origin = piece_origin(piece);
  Drawing drawing;
  drawing.name = piece.name;
  add_lines(drawing, piece, origin, options.sew_line);
  drawing.box = geometry::bounding_box(drawing.lines.front().points);
  add_turn_and_curve_points(drawing, piece, origin);
  for (const auto& [centre, diameter] : piece.holes) {
    drawing.spots.push_back({Layer::holes, centre - origin, diameter / 2});
  }
  for (const draft::PieceLabel& label : piece.labels) {
    drawing.texts.push_back({label.at - origin, label.height, label.words, label.angle, readers_width});
  }
  drawing.remarks = piece_remarks(piece);
  return drawing;
}

Polyline mark_course(const draft::Piece& piece, const draft::PieceMark& mark) {
  const Vec2 tip = mark.on_cut + mark.depth * mark.inward;
  if (mark.kind == draft::PieceMark::Kind::match || mark.shape == panel::NotchShape::slit) return {mark.on_cut, tip};
  const Vec2 along(mark.inward.y(), -mark.inward.x());  // the way the outline runs: inward is on its left
  if (mark.shape == panel::NotchShape::vee) {
    const Vec2 half = vee_half_width * mark.depth * along;
    const auto mouth = [&](const Vec2& at) { return slid_onto(piece.cut_line, at, mark.inward, mark.depth); };
    return {mouth(mark.on_cut - half), tip, mouth(mark.on_cut + half)};
  }
  Polyline course;
  for (int i = 0; i <= round_parts; ++i) {
    const double angle = std::numbers::pi * i / round_parts;
    course.push_back(mark.on_cut + mark.depth * (std::sin(angle) * mark.inward - std::cos(angle) * along));
  }
  course.front() = slid_onto(piece.cut_line, course.front(), mark.inward, mark.depth);
  course.back() = slid_onto(piece.cut_line, course.back(), mark.inward, mark.depth);
  return course;
}

std::vector<Polyline> grain_heads(const draft::Piece& piece) {
  if (!piece.grain) return {};
  const auto& [tail, head] = *piece.grain;
  const Vec2 back = grain_head * (tail - head), across = 0.4 * Vec2(-back.y(), back.x());
  std::vector<Polyline> heads = {{head + back + across, head, head + back - across}};
  if (!piece.grain_directed) heads.push_back({tail - back + across, tail, tail - back - across});
  return heads;
}

std::vector<std::string> piece_remarks(const draft::Piece& piece) {
  std::vector<std::string> remarks = {
      fmt::format("Piece Name: {}", piece.name),
      fmt::format("Quantity: {}{}", piece.quantity, piece.one_mirrored ? ", one mirrored" : ""),
      fmt::format("Material: {}", piece.material),
      "Size: as measured",
      fmt::format("Annotation: {}", draft::side_label(piece.side)),
      "Annotation: unit mm"};
  if (!piece.part.empty()) remarks.push_back(fmt::format("Annotation: part {}", piece.part));
  if (!piece.job.empty()) remarks.push_back(fmt::format("Annotation: job {}", piece.job));
  return remarks;
}

Drawing with_lettering(Drawing drawing) {
  for (const Drawing::Text& text : drawing.texts) {
    const draft::PieceLabel label{text.words, text.at, text.height, text.angle};
    for (Polyline& stroke : draft::strokes_of(label)) drawing.lines.push_back({Layer::text, std::move(stroke), false});
  }
  return drawing;
}

}  // namespace chalkfold::output
