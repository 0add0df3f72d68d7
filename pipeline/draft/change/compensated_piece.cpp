// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/change/compensated_piece.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/common/require.h"
#include "pipeline/draft/piece/labels.h"
#include "pipeline/geometry/offset.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::draft {

namespace {
constexpr double degree = std::numbers::pi / 180;
constexpr double longest_turn = 45 * degree;  // of an arc that one cubic stands for: off it by 4e-6 of the radius
constexpr double askew_percent = 0.02;        // of a length: below it the axis' two sides still match within 0.1 mm

/// Scaling about a centre, along a direction and across it.
struct Scaling {
  Vec2 centre;
  Mat2 linear;
  Vec2 operator()(const Vec2& p) const { return centre + linear * (p - centre); }
};

Scaling scaling(const Piece& piece, const Compensation& c) {
  const Vec2 g = c.direction, h = geometry::left_of(g);
  return {geometry::centroid(piece.sew_line),
          g * g.transpose() / (1 + c.along_percent / 100) + h * h.transpose() / (1 + c.across_percent / 100)};
}

/// An arc as cubics with its tangents.
geometry::Curve as_cubics(const geometry::CurveSegment& arc) {
  const int parts = std::max(1, static_cast<int>(std::ceil(std::abs(arc.turned()) / longest_turn)));
  const double handle = 4.0 / 3.0 * std::tan(std::abs(arc.turned()) / parts / 4) * arc.radius();
  geometry::Curve out;
  for (int k = 0; k < parts; ++k) {
    const double from = static_cast<double>(k) / parts, to = static_cast<double>(k + 1) / parts;
    geometry::CurveSegment cubic;
    cubic.kind = geometry::CurveSegment::Kind::cubic;
    cubic.from = k == 0 ? arc.from : arc.at(from);
    cubic.to = k + 1 == parts ? arc.to : arc.at(to);
    cubic.control1 = cubic.from + handle * arc.direction(from);
    cubic.control2 = cubic.to - handle * arc.direction(to);
    out.push_back(cubic);
  }
  return out;
}

geometry::Curve scaled(const geometry::Curve& curve, const Scaling& scale) {
  geometry::Curve out;
  for (const geometry::CurveSegment& s : curve) {
    const geometry::Curve parts = s.kind == geometry::CurveSegment::Kind::arc ? as_cubics(s) : geometry::Curve{s};
    for (geometry::CurveSegment part : parts) {
      for (Vec2* p : {&part.from, &part.to, &part.control1, &part.control2}) *p = scale(*p);
      out.push_back(part);
    }
  }
  return out;
}

void lay_cut_line(Piece& piece, double mitre_limit) {
  std::vector<geometry::OffsetEdge> edges;
  for (const PieceEdge& edge : piece.edges) edges.push_back({edge.sew, edge.allowance});
  geometry::OffsetOptions outward;
  outward.mitre_limit = mitre_limit;
  const geometry::OffsetResult cut = geometry::offset_edges(edges, outward);
  piece.cut.clear();
  for (const geometry::Curve& edge : cut.edges) piece.cut.insert(piece.cut.end(), edge.begin(), edge.end());
  piece.cut_line = cut.line;
  piece.sew_line.clear();
  for (const PieceEdge& edge : piece.edges) {
    const Polyline points = geometry::flattened(edge.sew, 0.02);
    piece.sew_line.insert(piece.sew_line.end(), points.begin(), points.end() - 1);
  }
}

/// Arc length on the scaled edge of what lay at `along` on the one before.
double carried_along(const geometry::Curve& before, double along, const Scaling& scale) {
  double walked = 0, out = 0;
  for (const geometry::CurveSegment& s : before) {
    const double own = s.length();
    if (along >= walked + own - 1e-9) {
      out += geometry::length(scaled({s}, scale));
    } else {
      const double t = geometry::parameter_at(s, along - walked);
      return t > 0 ? out + geometry::length(scaled({geometry::first_part(s, t)}, scale)) : out;
    }
    walked += own;
  }
  return out;
}

void scale_marks(Piece& piece, const std::vector<PieceEdge>& before, const Scaling& scale) {
  for (PieceMark& mark : piece.marks) {
    const std::size_t i = index_of_edge(piece, mark.edge).value();
    mark.along = carried_along(before[i].sew, mark.along, scale);
    const geometry::CurvePlace place = geometry::place_along(piece.edges[i].sew, mark.along);
    mark.on_sew = place.point;
    mark.inward = geometry::left_of(place.direction);
    mark.on_cut = place.point - piece.edges[i].allowance * mark.inward;
  }
}

/// The axis stays one only along or across the grain, or when both directions are scaled alike.
void scale_axis(Piece& piece, const Scaling& scale, const Compensation& c) {
  if (!piece.axis) return;
  const Vec2 axis = ((*piece.axis)[1] - (*piece.axis)[0]).normalized();
  const double askew = std::abs(std::sin(2 * std::atan2(geometry::cross(c.direction, axis), c.direction.dot(axis)))) *
                       std::abs(c.along_percent - c.across_percent);
  if (askew <= askew_percent) {
    for (Vec2& p : *piece.axis) p = scale(p);
    return;
  }
  piece.axis.reset();
  piece.faults.push_back(
      {"axis-lost", Severity::note,
       "the axis lies askew to the grain: scaled for the change, the piece is symmetric only after it",
       "Do not cut it on the fold.", piece.measured_on, piece.name});
}
}  // namespace

Piece compensated_piece(const Piece& piece, const Compensation& compensation, double mitre_limit) {
  require_at_least("edges of the piece", piece.edges.size(), 1);
  require_above("change along the grain, per cent,", compensation.along_percent, -50);
  require_above("change across the grain, per cent,", compensation.across_percent, -50);
  const Scaling scale = scaling(piece, compensation);
  Piece out = piece;
  for (PieceEdge& edge : out.edges) edge.sew = scaled(edge.sew, scale);
  lay_cut_line(out, mitre_limit);
  scale_marks(out, piece.edges, scale);
  for (Polyline& cutout : out.cutouts)
    for (Vec2& p : cutout) p = scale(p);
  for (auto& [centre, diameter] : out.holes) centre = scale(centre);
  if (out.grain)
    for (Vec2& p : *out.grain) p = scale(p);
  if (out.underside) out.underside = scale(*out.underside);
  scale_axis(out, scale, compensation);
  const std::string what = fmt::format("scaled for {:+.2f} % along, {:+.2f} % across the grain",
                                       compensation.along_percent, compensation.across_percent);
  out.part += (out.part.empty() ? "" : ", ") + what;
  out.faults.push_back({"compensated", Severity::note, "the piece is " + what,
                        "It comes out right only in material that changes by as much; the allowances are not scaled.",
                        out.measured_on, out.name});
  place_labels(out);
  return out;
}

}  // namespace chalkfold::draft
