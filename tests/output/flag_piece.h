// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>
#include <numbers>

#include "pipeline/draft/piece/lettering.h"
#include "pipeline/draft/piece/piece.h"
#include "pipeline/draft/piece/side_label.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::test {

inline geometry::CurveSegment line_segment(const Vec2& from, const Vec2& to) {
  geometry::CurveSegment s;
  s.from = from;
  s.to = to;
  return s;
}

inline geometry::CurveSegment arc_segment(const Vec2& from, const Vec2& to, const Vec2& centre,
                                          bool counter_clockwise) {
  geometry::CurveSegment s = line_segment(from, to);
  s.kind = geometry::CurveSegment::Kind::arc;
  s.centre = centre;
  s.counter_clockwise = counter_clockwise;
  return s;
}

/// Drawing frame (origin at the lower left of the cut line's box), mm: a place in the bay of the lower edge, and where it would be
/// upside down; a place where the upper right corner is cut off, and where it would be left for right.
inline constexpr double flag_width = 240, flag_height = 150;
inline const Vec2 bay{120, 3}, bay_mirrored{120, 147}, slant{230, 140}, slant_mirrored{10, 140};
inline constexpr double flag_arc_radius = 50, flag_bay = 40;

/// A flag unlike itself however it is mirrored or turned: 240 x 150 mm to the cut line, its upper right corner cut off on a
/// slant, a bay (one arc) in its lower edge. It lies away from the frame's
/// origin, inside up. Allowance 10 mm everywhere (the sew line is drawn as straight stretches only: nothing here reads it).
inline draft::Piece flag_piece(const std::string& name = "flag") {
  const Vec2 at(-37.25, 42.5);
  const auto p = [&at](double x, double y) { return Vec2(at + Vec2(x, y)); };
  const auto closed = [&p](const std::vector<std::pair<double, double>>& points) {
    Polyline line;
    for (const auto& [x, y] : points) line.push_back(p(x, y));
    return line;
  };
  draft::Piece piece;
  piece.name = name;
  piece.part = "back rest";
  piece.job = "wagon";
  piece.material = "vinyl";
  piece.quantity = 2;
  piece.one_mirrored = true;
  // Bottom edge: 0,0 - 90,0, a bay (arc about 120,-40 of radius 50, clockwise seen from its centre) - 150,0 - 240,0.
  piece.cut = {line_segment(p(0, 0), p(90, 0)),        arc_segment(p(90, 0), p(150, 0), p(120, -flag_bay), false),
               line_segment(p(150, 0), p(240, 0)),     line_segment(p(240, 0), p(240, 110)),
               line_segment(p(240, 110), p(200, 150)), line_segment(p(200, 150), p(0, 150)),
               line_segment(p(0, 150), p(0, 0))};
  piece.cut_line = geometry::flattened(piece.cut, 0.002);
  piece.cut_line.pop_back();
  piece.sew_line = closed({{10, 10}, {230, 10}, {230, 106}, {196, 140}, {10, 140}});
  piece.edges.resize(5);
  for (std::size_t i = 0; i < 5; ++i) {
    piece.edges[i].number = static_cast<int>(i) + 1;
    piece.edges[i].sew = {line_segment(piece.sew_line[i], piece.sew_line[(i + 1) % 5])};
  }
  piece.cutouts = {closed({{30, 100}, {30, 120}, {50, 120}, {50, 100}})};
  piece.grain = {p(180, 40), p(180, 100)};
  piece.holes = {{p(215, 30), 3.0}};
  piece.internal = {closed({{60, 40}, {110, 40}, {110, 90}, {60, 90}, {60, 40}})};
  draft::PieceMark notch;
  notch.kind = draft::PieceMark::Kind::notch;
  notch.edge = 2;
  notch.on_cut = p(240, 60);
  notch.on_sew = p(230, 60);
  notch.along = 50;
  notch.inward = Vec2(-1, 0);
  notch.depth = 4;
  draft::PieceMark match = notch;
  match.kind = draft::PieceMark::Kind::match;
  match.edge = 4;
  match.on_cut = p(150, 150);
  match.on_sew = p(150, 140);
  match.along = 46;
  match.inward = Vec2(0, -1);
  match.depth = 5;
  piece.marks = {notch, match};
  const auto label = [&](std::string_view words, double x, double y, double height, double angle) {
    piece.labels.push_back({std::string(words), p(x, y), height, angle, draft::text_length(words, height)});
  };
  label(name, 60, 118, 8, 0);
  label("cut 2, one mirrored", 60, 104, 5, 0);
  label(draft::side_label(draft::Side::inside), 120, 70, 5, 0);
  label("U", 130, 40, 10, 0);
  label("2", 222, 56, 5, std::numbers::pi / 2);
  return piece;
}

/// Area inside the cut line in closed form, cut-out not taken off.
inline double flag_area() {
  const double half = std::asin(30 / flag_arc_radius);
  const double bay_area = flag_arc_radius * flag_arc_radius * half - 30 * flag_bay;
  return flag_width * flag_height - 0.5 * 40 * 40 - bay_area;
}

}  // namespace chalkfold::test
