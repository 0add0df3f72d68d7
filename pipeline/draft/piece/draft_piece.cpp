// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/draft_piece.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <utility>

#include "pipeline/common/check_option.h"
#include "pipeline/common/error.h"
#include "pipeline/common/require.h"
#include "pipeline/draft/piece/draft_steps.h"
#include "pipeline/draft/piece/labels.h"
#include "pipeline/draft/piece/lay_lines.h"
#include "pipeline/draft/piece/mirrored_items.h"
#include "pipeline/draft/piece/nicks.h"
#include "pipeline/draft/piece/sew_contour.h"
#include "pipeline/geometry/offset.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/segment.h"

namespace chalkfold::draft {
namespace {

void add_fault(Piece& piece, const panel::Panel& panel, std::string code, Severity severity, std::string seen,
               std::string remedy) {
  piece.faults.push_back({std::move(code), severity, std::move(seen), std::move(remedy), panel.photo, piece.name});
}

std::string place(const Vec2& p) { return fmt::format("at x {:.0f}, y {:.0f} mm", p.x(), p.y()); }

std::vector<OutlineMark> outline_marks(const panel::Panel& panel) {
  std::vector<OutlineMark> marks;
  for (const panel::MatchMark& m : panel.marks.matches)
    marks.push_back({PieceMark::Kind::match,
                     panel::NotchShape::slit,
                     m.foot,
                     (m.tip - m.foot).norm(),
                     {m.group},
                     MarkOrigin::measured});
  int group = panel.marks.matches.empty() ? 0 : panel.marks.matches.back().group;
  for (const panel::Notch& n : panel.marks.notches)
    marks.push_back({PieceMark::Kind::notch, n.shape, n.foot, n.depth, {++group}, MarkOrigin::measured});
  return marks;
}

double allowance_of(const DraftOptions& options, int edge) {
  const auto own = options.edge_allowances.find(edge);
  return own == options.edge_allowances.end() ? options.allowance : own->second;
}

/// Sew and cut lines of the numbered edges.
void lay_lines(Piece& piece, const std::vector<OutlineEdge>& edges, double existing, const DraftOptions& options) {
  std::vector<geometry::OffsetEdge> old;
  old.reserve(edges.size());
  for (const OutlineEdge& edge : edges) old.push_back({edge.curve, -existing});
  geometry::OffsetOptions inward;
  inward.keep_cubics = true;
  const geometry::OffsetResult sew = geometry::offset_edges(old, inward);
  if (existing > 0) tell_troubles(piece, sew, "sew line", existing);
  for (std::size_t i = 0; i < edges.size(); ++i) {
    PieceEdge edge;
    edge.number = static_cast<int>(i) + 1;
    edge.sew = existing > 0 ? sew.edges[i] : edges[i].curve;
    edge.allowance = allowance_of(options, edge.number);
    edge.largest_departure = edges[i].largest_departure;
    edge.sigma = edges[i].sigma;
    edge.U = edges[i].U;
    piece.edges.push_back(std::move(edge));
  }
  piece.sew_line = sew.line;
  lay_cut_line(piece, options.mitre_limit, options.allowance);
}

struct Nearest {
  std::size_t edge = 0;
  double along = 0, away = 1e300;
};

Nearest nearest_on(const std::vector<PieceEdge>& edges, const Vec2& p) {
  Nearest nearest;
  for (std::size_t i = 0; i < edges.size(); ++i) {
    const Polyline path = geometry::flattened(edges[i].sew, 0.005);
    const geometry::LinePlace place = geometry::nearest_on_line(path, p, false);
    if (place.distance < nearest.away) nearest = {i, place.along, place.distance};
  }
  return nearest;
}

void carry_marks(Piece& piece, const std::vector<OutlineMark>& marks, const DraftOptions& options) {
  require_at_least("edges of the piece", piece.edges.size(), 1);
  std::vector<std::pair<PieceMark, MarkGroup>> carried;
  for (const OutlineMark& mark : marks) {
    const Nearest at = nearest_on(piece.edges, mark.foot);
    const PieceEdge& edge = piece.edges[at.edge];
    PieceMark m;
    m.kind = mark.kind;
    m.shape = mark.kind == PieceMark::Kind::notch ? options.notch_style : panel::NotchShape::slit;
    m.edge = edge.number;
    m.along = at.along;
    put_mark(m, edge);
    m.depth = std::min(options.notch_depth, 0.5 * edge.allowance);
    m.origin = mark.origin;
    carried.emplace_back(m, mark.group);
  }
  std::stable_sort(carried.begin(), carried.end(), [](const auto& a, const auto& b) {
    return a.first.edge != b.first.edge ? a.first.edge < b.first.edge : a.first.along < b.first.along;
  });
  std::optional<MarkGroup> last;
  int number = -1;
  for (auto& [mark, group] : carried) {  // groups numbered in order along the piece
    if (group != last) ++number;
    last = group;
    mark.group = number;
    piece.marks.push_back(mark);
  }
}

void take_grain(Piece& piece, const panel::Panel& panel, const DraftOptions& options) {
  if (options.grain_deg) {
    const double angle = *options.grain_deg * std::numbers::pi / 180;
    const Vec2 along(std::cos(angle), std::sin(angle)), middle = geometry::centroid(piece.cut_line);
    const double half = 0.15 * std::sqrt(std::abs(geometry::signed_area(piece.cut_line)));
    piece.grain = {Vec2(middle - half * along), Vec2(middle + half * along)};
    return;
  }
  if (!panel.marks.grain) return;
  piece.grain = {panel.marks.grain->tail, panel.marks.grain->head};
  piece.grain_directed = panel.marks.grain->directed;
}

void tell_symmetry(Piece& piece, const panel::Panel& panel, const SymmetricOutline& outline,
                   const DraftOptions& options) {
  if (!outline.change.done && options.symmetry.symmetric == Symmetric::automatic)
    add_fault(
        piece, panel, "not-symmetrised", Severity::note, fmt::format("Left as measured: {}.", outline.change.reason),
        "If the piece is to be symmetric, draw a centre line and photograph it again, or ask for it: symmetric yes "
        "in the job, or --symmetric yes.");
  for (std::size_t i = 0; i < outline.edges.size(); ++i)
    if (!outline.edges[i].within_tolerance)
      add_fault(
          piece, panel, "edge-not-followed", Severity::warning,
          fmt::format(
              "Edge {} departs from the measured points by up to {:.1f} mm, more than the tolerance of {:.1f} mm.",
              i + 1, outline.edges[i].largest_departure, options.edges.tolerance),
          "Look at the picture for fray or a fold there; trim loose threads and photograph again.");
  for (const auto& [number, allowance] : options.edge_allowances)
    if (number < 1 || number > static_cast<int>(outline.edges.size()))
      add_fault(piece, panel, "no-such-edge", Severity::warning,
                fmt::format("An allowance of {:.1f} mm is given for edge {}, but the piece has {} edges.", allowance,
                            number, outline.edges.size()),
                "Look up the edge numbers in the piece's picture.");
}

}  // namespace

DraftSource draft_source(const panel::Panel& panel, const DraftOptions& options, Piece& piece) {
  std::vector<Nick> nicks;
  DraftSource source{across_nicks(panel::outline_across_notches(panel), nicks), outline_marks(panel),
                     options.existing_allowance};
  int group = source.marks.empty() ? 0 : source.marks.back().group.number;
  for (const Nick& nick : nicks) {
    source.marks.push_back(
        {PieceMark::Kind::notch, panel::NotchShape::vee, nick.foot, nick.depth, {++group}, MarkOrigin::measured});
    add_fault(piece, panel, "nick-taken-for-notch", Severity::note,
              fmt::format(
                  "A nick {:.1f} mm deep {} was not told as a notch with certainty; it was bridged and marked as one.",
                  nick.depth, place(nick.foot)),
              "If it is damage, strike that notch out on the piece.");
  }
  if (!options.existing_measured) return source;
  if (panel.marks.needle_rows.empty()) {
    add_fault(
        piece, panel, "no-needle-row", Severity::warning,
        fmt::format("The old allowance was to be measured, but no row of needle holes was found; {:.1f} mm was taken.",
                    options.existing_allowance),
        "Measure from the old cut edge to the stitch holes with a rule and give it: existing_allowance_mm in "
        "the job, or --existing-allowance-mm.");
    return source;
  }
  source.contour = sew_contour(source.contour, panel.marks.needle_rows);
  source.existing = 0;
  return source;
}

void check(const DraftOptions& o) {
  check(o.symmetry);
  check(o.edges);
  check_option("quantity", o.quantity, 1, 1000);
  check_option("allowance, mm,", o.allowance, 0, 100);
  check_option("existing allowance, mm,", o.existing_allowance, 0, 100);
  for (const auto& [edge, allowance] : o.edge_allowances) check_option("allowance of an edge, mm,", allowance, 0, 100);
  check_option("direction of the grain, degrees,", o.grain_deg, -360, 360);
  check_option("mitre limit", o.mitre_limit, 1, 20);
  check_option("notch depth, mm,", o.notch_depth, 0.5, 20);
}

void order_edges(std::vector<OutlineEdge>& edges, const panel::Marks& marks) {
  if (edges.size() < 2) return;
  Polyline around;
  for (const OutlineEdge& edge : edges)
    for (const Vec2& p : geometry::flattened(edge.curve, 0.1)) around.push_back(p);
  around = geometry::resample_closed(around, 1000);
  Vec2 target = geometry::bounding_box(around).min;
  const auto letter =
      std::find_if(marks.writings.begin(), marks.writings.end(), [](const panel::Writing& w) { return w.underside; });
  if (letter != marks.writings.end()) {
    const Vec2 middle = 0.25 * (letter->box[0] + letter->box[1] + letter->box[2] + letter->box[3]),
               left(-std::sin(letter->up), std::cos(letter->up));
    double reach = 0;
    for (const Vec2& p : around)
      if (std::abs(left.x() * (p - middle).y() - left.y() * (p - middle).x()) < 5)
        reach = std::max(reach, left.dot(p - middle));
    target = middle + reach * left;
  }
  const auto first = std::min_element(edges.begin(), edges.end(), [&](const OutlineEdge& a, const OutlineEdge& b) {
    return (a.curve.front().from - target).norm() < (b.curve.front().from - target).norm();
  });
  std::rotate(edges.begin(), first, edges.end());
}

Piece titled(const panel::Panel& panel, const DraftOptions& options) {
  check(options);
  Piece piece;
  piece.name = panel.name;
  piece.part = options.part;
  piece.job = options.job;
  piece.material = options.material;
  piece.number = options.number;
  piece.quantity = options.quantity;
  piece.one_mirrored = options.one_mirrored;
  piece.side = options.side;
  piece.measured_on = panel.photo;
  piece.U = panel.U_median;
  return piece;
}

void finish_piece(Piece& piece, const panel::Panel& panel, SymmetricOutline outline, double existing,
                  const DraftOptions& options) {
  order_edges(outline.edges, panel.marks);
  piece.symmetry = outline.change;
  tell_symmetry(piece, panel, outline, options);
  lay_lines(piece, outline.edges, existing, options);
  carry_marks(piece, outline.marks, options);
  take_grain(piece, panel, options);
  take_inner_items(piece, panel, outline.axis);
  if (outline.axis) draw_axis(piece, *outline.axis);
  for (const panel::Writing& w : panel.marks.writings)
    if (w.underside) piece.underside = 0.25 * (w.box[0] + w.box[1] + w.box[2] + w.box[3]);
  place_labels(piece);
}

Piece draft_piece(const panel::Panel& panel, const DraftOptions& options) {
  require_at_least("points of the panel's outline", panel.outline.points.size(), 8);
  Piece piece = titled(panel, options);
  const DraftSource source = draft_source(panel, options, piece);
  finish_piece(piece, panel,
               symmetrise(source.contour, source.marks, panel.marks.centre, options.symmetry, options.edges),
               source.existing, options);
  return piece;
}

}  // namespace chalkfold::draft
