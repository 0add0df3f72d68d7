// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/pair_pieces.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "pipeline/common/require.h"
#include "pipeline/draft/piece/draft_steps.h"
#include "pipeline/draft/piece/labels.h"
#include "pipeline/draft/piece/matched_halves.h"
#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/outline_registration.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::draft {
namespace {

Vec2 flipped(const Vec2& p) { return {-p.x(), p.y()}; }

/// Everything that a pair shares of a panel, mirrored in x = 0 and run through counter-clockwise again.
DraftSource flipped(DraftSource source) {
  for (Vec2& p : source.contour.points) p = flipped(p);
  std::reverse(source.contour.points.begin(), source.contour.points.end());
  std::reverse(source.contour.sigma.begin(), source.contour.sigma.end());
  std::reverse(source.contour.U.begin(), source.contour.U.end());
  for (OutlineMark& mark : source.marks) mark.foot = flipped(mark.foot);
  return source;
}

/// The second's mirrored outline laid on the first's.
struct Registration {
  geometry::Rigid2 first_from_second;
  /// mm, the largest fifth of the distances left out: a notch or a torn corner is no wear
  double rms = 0;
};

Registration registered(const geometry::ClosedOutline& first, const geometry::ClosedOutline& second) {
  const std::vector<geometry::OutlineRegistration> ways = geometry::register_outlines(second, first);  // one at least
  const auto best = std::min_element(ways.begin(), ways.end(),
                                     [](const auto& a, const auto& b) { return a.rigid_rms < b.rigid_rms; });
  constexpr std::size_t compared = 200;  // places along the outline
  std::vector<double> squares;
  for (const geometry::OutlinePlace& place : second.places(compared)) {
    const double away = first.nearest(best->rigid * place.point).away;
    squares.push_back(away * away);
  }
  std::sort(squares.begin(), squares.end());
  squares.resize(compared - compared / 5);
  const double sum = std::accumulate(squares.begin(), squares.end(), 0.0);
  return {best->rigid, std::sqrt(sum / static_cast<double>(squares.size()))};
}

/// A closed source cut open where it passes `at`, as a path that ends where it starts.
Half opened(const DraftSource& source, const std::vector<geometry::OutlineCorner>& corners, const Vec2& at) {
  const Polyline& points = source.contour.points;
  const std::size_t n = points.size();
  const geometry::ClosedOutline outline(points);
  const double round = outline.length(), start = outline.nearest(at).along;
  Half half;
  std::size_t first = 0;
  double station = 0;
  while (first + 1 < n && station < start) {
    station += (points[first + 1] - points[first]).norm();
    ++first;
  }
  for (std::size_t k = 0; k <= n; ++k) {
    const std::size_t i = (first + k) % n;
    half.path.points.push_back(points[i]);
    half.path.sigma.push_back(source.contour.sigma[i]);
    half.path.U.push_back(source.contour.U[i]);
    half.stations.push_back(k == 0 ? 0 : half.stations.back() + (points[i] - half.path.points[k - 1]).norm());
  }
  const auto along = [&](const Vec2& p) { return std::fmod(outline.nearest(p).along - station + 2 * round, round); };
  for (geometry::OutlineCorner corner : corners) {
    corner.along = along(corner.point);
    if (corner.along < 4 || corner.along > round - 4)  // mm: the corner that it was opened at
      half.corner_at_start = half.corner_at_end = true;
    else
      half.corners.push_back(corner);
  }
  std::sort(half.corners.begin(), half.corners.end(), [](const auto& a, const auto& b) { return a.along < b.along; });
  std::vector<std::pair<double, OutlineMark>> placed;
  for (const OutlineMark& mark : source.marks) placed.emplace_back(along(mark.foot), mark);
  std::stable_sort(placed.begin(), placed.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  for (const auto& [where, mark] : placed) {
    half.mark_stations.push_back(where);
    half.marks.push_back(mark);
  }
  return half;
}

/// The sharpest corner that both have, or where the first starts.
Vec2 common_start(const std::vector<geometry::OutlineCorner>& first, const std::vector<geometry::OutlineCorner>& second,
                  const Polyline& outline) {
  const geometry::OutlineCorner* best = nullptr;
  for (const geometry::OutlineCorner& a : first)
    for (const geometry::OutlineCorner& b : second)
      if ((a.point - b.point).norm() < 20 && a.turn * b.turn > 0 && (!best || std::abs(a.turn) > std::abs(best->turn)))
        best = &a;
  return best ? best->point : outline.front();
}

SymmetricOutline closed_again(const Half& half, const EdgeOptions& options) {
  SymmetricOutline outline;
  panel::Contour contour = half.path;
  contour.points.pop_back();
  contour.sigma.pop_back();
  contour.U.pop_back();
  std::vector<geometry::OutlineCorner> corners = half.corners;
  if (half.corner_at_start) corners.insert(corners.begin(), {0, half.path.points.front(), 1});
  outline.edges = fit_edges(contour, options, corners);
  outline.marks = half.marks;
  for (OutlineMark& mark : outline.marks)
    if (mark.origin == MarkOrigin::mirrored && !mark.group.on_left)
      mark.origin = MarkOrigin::measured;  // drawn on the first panel
  return outline;
}

ShapeChange change_of(const Half& first, const Half& second, const std::vector<Anchor>& anchors, Fold keep,
                      const std::string& reason) {
  ShapeChange change;
  change.done = true;
  change.reason = reason;
  double squares = 0;
  for (double s = 0; s < first.length(); s += 8) {
    const Vec2 a = first.at(s), b = second.at(left_from_right(anchors, s));
    const Vec2 after = keep == Fold::mean ? Vec2(0.5 * (a + b)) : keep == Fold::left ? a : b;
    change.before.push_back(a);
    change.moves.push_back(after - a);
    squares += (after - a).squaredNorm();
    change.largest = std::max(change.largest, (after - a).norm());
  }
  change.rms = std::sqrt(squares / static_cast<double>(std::max<std::size_t>(1, change.before.size())));
  return change;
}

}  // namespace

std::pair<Piece, Piece> pair_pieces(const panel::Panel& first, const panel::Panel& second, const DraftOptions& options,
                                    const DraftOptions& second_options, const PairOptions& pair) {
  check(second_options);
  for (const panel::Panel* panel : {&first, &second})
    require_at_least("points of the panel's outline", panel->outline.points.size(), 8);
  Piece piece = titled(first, options);
  const DraftSource own = draft_source(first, options, piece);
  Piece texts = titled(second, second_options);
  DraftSource other = flipped(draft_source(second, second_options, texts));
  const Faults own_faults = std::exchange(piece.faults, {});  // each panel's own; what follows concerns both
  const Registration registration =
      registered(geometry::ClosedOutline(own.contour.points), geometry::ClosedOutline(other.contour.points));
  for (Vec2& p : other.contour.points) p = registration.first_from_second * p;
  for (OutlineMark& mark : other.marks) mark.foot = registration.first_from_second * mark.foot;
  const auto own_corners = geometry::find_edge_corners(own.contour.points, options.edges.corners),
             other_corners = geometry::find_edge_corners(other.contour.points, options.edges.corners);
  const Vec2 start = common_start(own_corners, other_corners, own.contour.points);
  const Half a = opened(own, own_corners, start), b = opened(other, other_corners, start);
  const std::vector<Anchor> anchors = matched(a, b);
  // What `folded` calls right is the path given first.
  const Fold keep = pair.keep == Fold::mean ? Fold::mean : pair.keep == Fold::left ? Fold::right : Fold::left;
  SymmetricOutline outline = closed_again(folded(a, b, anchors, keep), options.edges);
  const std::string reason =
      fmt::format("{} and {} differ by {:.1f} mm rms when one is mirrored", first.name, second.name, registration.rms);
  outline.change.reason = "a piece of a pair";
  DraftOptions without = options;
  without.symmetry.symmetric = Symmetric::no;
  finish_piece(piece, first, std::move(outline), own.existing, without);
  piece.pairing = change_of(a, b, anchors, pair.keep, reason);
  constexpr double wear = 4;  // mm rms: 2 % of a seat panel's half width
  if (registration.rms > wear)
    piece.faults.push_back({"pair-differs", Severity::warning, reason + ".",
                            "Check that they are a pair, and that both lay with the same side up.", first.photo,
                            first.name});
  Piece image = mirror_image(piece);
  for (PieceMark& mark : image.marks) {  // what the first panel alone had is mirrored here, and the other way round
    if (mark.origin == MarkOrigin::averaged) continue;
    mark.origin = mark.origin == MarkOrigin::measured ? MarkOrigin::mirrored : MarkOrigin::measured;
  }
  // of mirrored points; turned back into the second's own
  const geometry::Rigid2& fit = registration.first_from_second;
  image.piece_from_panel = {-fit.angle, flipped(fit.shift)};
  image.name = texts.name;
  image.part = texts.part;
  image.material = texts.material;
  image.number = texts.number;
  image.quantity = texts.quantity;
  image.one_mirrored = texts.one_mirrored;
  image.measured_on = texts.measured_on;
  image.U = texts.U;
  for (Fault& fault : image.faults) {
    fault.panel = texts.name;
    fault.photo = second.photo;
  }
  std::erase_if(image.faults, [](const Fault& fault) { return fault.code == "labels-dropped"; });  // told anew
  place_labels(image);
  image.faults.insert(image.faults.begin(), texts.faults.begin(), texts.faults.end());
  piece.faults.insert(piece.faults.begin(), own_faults.begin(), own_faults.end());
  return {piece, image};
}

}  // namespace chalkfold::draft
