// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/lay_lines.h"

#include <fmt/format.h>

#include <algorithm>

namespace chalkfold::draft {
namespace {

std::string place(const Vec2& p) { return fmt::format("at x {:.0f}, y {:.0f} mm", p.x(), p.y()); }

void add_fault(Piece& piece, std::string code, Severity severity, std::string seen, std::string remedy) {
  piece.faults.push_back(
      {std::move(code), severity, std::move(seen), std::move(remedy), piece.measured_on, piece.name});
}

}  // namespace

void tell_troubles(Piece& piece, const geometry::OffsetResult& offset, const char* line, double distance) {
  for (const geometry::OffsetTrouble& t : offset.troubles) {
    switch (t.kind) {
      case geometry::OffsetTrouble::Kind::turned_over:
        add_fault(
            piece, "too-narrow", Severity::refusal,
            fmt::format("The piece is narrower than its two allowances of {:.1f} mm: no {} is left.", distance, line),
            "Give a smaller existing allowance, or 0 when the panel was cut on the seam.");
        break;
      case geometry::OffsetTrouble::Kind::bend_too_tight:
        add_fault(piece, "allowance-folds", Severity::warning,
                  fmt::format("A bend {} has a smaller radius than the allowance of {:.1f} mm; the {} folds there.",
                              place(t.at), distance, line),
                  "Look at the piece's picture there; give that edge a smaller allowance.");
        break;
      case geometry::OffsetTrouble::Kind::crosses_itself:
        add_fault(piece, "sew-line-crosses", Severity::refusal,
                  fmt::format("The {} crosses itself {}.", line, place(t.at)),
                  "Give a smaller allowance for the edges there, or for the whole piece.");
        break;
    }
  }
}

void lay_cut_line(Piece& piece, double mitre_limit, double allowance) {
  std::vector<geometry::OffsetEdge> grown;
  for (const PieceEdge& edge : piece.edges) grown.push_back({edge.sew, edge.allowance});
  geometry::OffsetOptions outward;
  outward.mitre_limit = mitre_limit;
  const geometry::OffsetResult cut = geometry::offset_edges(grown, outward);
  tell_troubles(piece, cut, "cut line", allowance);
  piece.cut.clear();
  for (const geometry::Curve& edge : cut.edges) piece.cut.insert(piece.cut.end(), edge.begin(), edge.end());
  piece.cut_line = cut.line;
}

void put_mark(PieceMark& mark, const PieceEdge& edge) {
  const geometry::CurvePlace on = geometry::place_along(edge.sew, mark.along);
  mark.on_sew = on.point;
  mark.inward = {-on.direction.y(), on.direction.x()};
  mark.on_cut = on.point - edge.allowance * mark.inward;
}

void draw_axis(Piece& piece, const geometry::MirrorAxis& axis) {
  double low = 1e300, high = -1e300;
  for (std::size_t i = 0; i < piece.cut_line.size(); ++i) {
    const Vec2 a = piece.cut_line[i] - axis.point, b = piece.cut_line[(i + 1) % piece.cut_line.size()] - axis.point;
    const Vec2 side(-axis.direction.y(), axis.direction.x());
    const double sa = side.dot(a), sb = side.dot(b);
    if (sa == sb || (sa > 0) == (sb > 0)) continue;
    const double t = axis.direction.dot(a + sa / (sa - sb) * (b - a));
    low = std::min(low, t);
    high = std::max(high, t);
  }
  if (low < high) piece.axis = {Vec2(axis.point + low * axis.direction), Vec2(axis.point + high * axis.direction)};
}

}  // namespace chalkfold::draft
