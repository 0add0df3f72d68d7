// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/piece.h"

#include <algorithm>
#include <cmath>

namespace chalkfold::draft {
namespace {

Vec2 flipped(const Vec2& p) { return {-p.x(), p.y()}; }

/// Mirrored in x = 0 and travelled the other way, so that a counter-clockwise outline stays counter-clockwise.
geometry::Curve flipped(const geometry::Curve& curve) {
  geometry::Curve r = geometry::reversed(curve);
  for (geometry::CurveSegment& s : r) s = geometry::mirrored(s, Vec2::Zero(), Vec2::UnitY());
  return r;
}

Polyline flipped(const Polyline& points) {
  Polyline r;
  for (auto p = points.rbegin(); p != points.rend(); ++p) r.push_back(flipped(*p));
  return r;
}

void flip(std::optional<std::array<Vec2, 2>>& line) {
  if (line) line = {flipped((*line)[0]), flipped((*line)[1])};
}

}  // namespace

std::optional<std::size_t> index_of_edge(const Piece& piece, int number) {
  for (std::size_t i = 0; i < piece.edges.size(); ++i)
    if (piece.edges[i].number == number) return i;
  return std::nullopt;
}

Piece other_side(const Piece& piece) {
  Piece r = piece;
  r.side = piece.side == Side::inside ? Side::face : Side::inside;
  std::reverse(r.edges.begin(), r.edges.end());
  for (PieceEdge& edge : r.edges) edge.sew = flipped(edge.sew);
  r.sew_line = flipped(piece.sew_line);
  r.cut = flipped(piece.cut);
  r.cut_line = flipped(piece.cut_line);
  for (Polyline& cutout : r.cutouts) cutout = flipped(cutout);
  flip(r.axis);
  flip(r.grain);
  if (r.underside) r.underside = flipped(*r.underside);
  for (PieceMark& mark : r.marks) {
    if (const auto edge = index_of_edge(piece, mark.edge))
      mark.along = geometry::length(piece.edges[*edge].sew) - mark.along;
    mark.on_sew = flipped(mark.on_sew);
    mark.on_cut = flipped(mark.on_cut);
    mark.inward = flipped(mark.inward);
  }
  for (auto& [centre, diameter] : r.holes) centre = flipped(centre);
  for (Polyline& line : r.internal) line = flipped(line);
  for (PieceLabel& label : r.labels) {  // the words stay readable: the far end of the line becomes its start
    const Vec2 along(std::cos(label.angle), std::sin(label.angle));
    label.at = flipped(label.at + label.length * along);
    label.angle = -label.angle;
  }
  for (ShapeChange* change : {&r.symmetry, &r.pairing}) {
    change->before = flipped(change->before);
    change->moves = flipped(change->moves);
  }
  return r;
}

Piece mirror_image(const Piece& piece) {
  Piece image = other_side(piece);
  image.side = piece.side;
  return image;
}

}  // namespace chalkfold::draft
