// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/change/compared_shape.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::draft {

namespace {
constexpr double step = 1;            // mm, between points of an outline
constexpr double cross_size = 40;     // mm, a larger box holds words
constexpr double cross_aspect = 1.6;  // a longer box holds more than one glyph
constexpr double cross_sigma = 0.7;   // mm, of the middle of a hand-drawn cross by the middle of its box

/// Points put between far ones take the larger doubt of their neighbours.
panel::Contour filled(const panel::Contour& contour) {
  panel::Contour out;
  const std::size_t n = contour.points.size();
  require_equal("sigmas of the contour", contour.sigma.size(), n);
  require_equal("U of the contour", contour.U.size(), n);
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t j = (i + 1) % n;
    const Vec2 d = contour.points[j] - contour.points[i];
    if (d.norm() < 1e-9) continue;  // a point given twice
    const auto parts = static_cast<std::size_t>(std::max(1.0, std::ceil(d.norm() / step - 1e-9)));
    for (std::size_t k = 0; k < parts; ++k) {
      out.points.push_back(contour.points[i] + d * (static_cast<double>(k) / static_cast<double>(parts)));
      out.sigma.push_back(k == 0 ? contour.sigma[i] : std::max(contour.sigma[i], contour.sigma[j]));
      out.U.push_back(k == 0 ? contour.U[i] : std::max(contour.U[i], contour.U[j]));
    }
  }
  return out;
}

/// Writing that may be a bench mark: one glyph, about as high as wide.
std::optional<BenchMark> cross_of(const panel::Writing& writing) {
  const double a = (writing.box[1] - writing.box[0]).norm(), b = (writing.box[2] - writing.box[1]).norm();
  if (writing.underside || std::max(a, b) > cross_size || std::max(a, b) > cross_aspect * std::min(a, b))
    return std::nullopt;
  return BenchMark{BenchMark::Kind::cross, 0.25 * (writing.box[0] + writing.box[1] + writing.box[2] + writing.box[3]),
                   cross_sigma};
}
}  // namespace

ComparedShape compared_panel(const panel::Panel& panel) {
  ComparedShape shape;
  shape.name = panel.name;
  shape.kind = "measured panel";
  shape.outline = filled(panel::outline_across_notches(panel));
  if (panel.marks.grain) {
    shape.grain = {panel.marks.grain->tail, panel.marks.grain->head};
    shape.grain_directed = panel.marks.grain->directed;
  }
  for (const panel::DrillHole& hole : panel.marks.holes)
    shape.marks.push_back({BenchMark::Kind::hole, hole.centre, hole.sigma});
  for (const panel::Writing& writing : panel.marks.writings)
    if (const auto cross = cross_of(writing)) shape.marks.push_back(*cross);
  shape.panel_marks = panel.marks;
  return shape;
}

ComparedShape compared_piece(const Piece& piece, PieceLine line) {
  panel::Contour contour;
  contour.points = line == PieceLine::cut ? piece.cut_line : piece.sew_line;
  contour.sigma.assign(contour.points.size(), 0);
  contour.U.assign(contour.points.size(), piece.U);
  ComparedShape shape;
  shape.name = piece.name;
  shape.kind = line == PieceLine::cut ? "cut line of a piece" : "sew line of a piece";
  shape.outline = filled(contour);
  shape.grain = piece.grain;
  shape.grain_directed = piece.grain_directed;
  shape.side = piece.side;
  for (const auto& [centre, diameter] : piece.holes)
    shape.marks.push_back({BenchMark::Kind::hole, centre, piece.U / 2});
  if (!piece.edges.empty() && !piece.edges.front().sew.empty())
    shape.first_corner = piece.edges.front().sew.front().from;
  return shape;
}

ComparedShape compared_line(Polyline closed, std::string name, std::string kind) {
  require_at_least("points of the line", closed.size(), 3);
  if (geometry::signed_area(closed) < 0) std::reverse(closed.begin(), closed.end());
  panel::Contour contour;
  contour.sigma.assign(closed.size(), 0);
  contour.U.assign(closed.size(), 0);
  contour.points = std::move(closed);
  ComparedShape shape;
  shape.name = std::move(name);
  shape.kind = std::move(kind);
  shape.outline = filled(contour);
  return shape;
}

ComparedShape other_side(const ComparedShape& shape) {
  ComparedShape out = shape;
  const auto turn_over = [](Vec2& p) { p.x() = -p.x(); };
  for (Vec2& p : out.outline.points) turn_over(p);
  std::reverse(out.outline.points.begin(), out.outline.points.end());
  std::reverse(out.outline.sigma.begin(), out.outline.sigma.end());
  std::reverse(out.outline.U.begin(), out.outline.U.end());
  if (out.grain)
    for (Vec2& p : *out.grain) turn_over(p);
  for (BenchMark& mark : out.marks) turn_over(mark.at);
  if (out.first_corner) turn_over(*out.first_corner);
  if (out.side) out.side = *out.side == Side::inside ? Side::face : Side::inside;
  out.panel_marks = {};
  return out;
}

}  // namespace chalkfold::draft
