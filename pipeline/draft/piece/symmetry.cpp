// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/symmetry.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/common/check_option.h"
#include "pipeline/common/require.h"
#include "pipeline/draft/piece/matched_halves.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/robust.h"

namespace chalkfold::draft {
namespace {

/// x = 0 on the axis, y along it.
geometry::Rigid2 panel_from_axis(const geometry::MirrorAxis& axis) {
  return {std::atan2(-axis.direction.x(), axis.direction.y()), axis.point};
}

/// Spread of an outline about its own course over 15 mm: fray.
double roughness(const Polyline& outline) {
  const auto count = static_cast<std::size_t>(std::max(16.0, geometry::length(outline, true)));
  const Polyline points = geometry::resample_closed(outline, count);
  std::vector<double> off;
  for (std::size_t i = 0; i < count; ++i) {
    Vec2 mean = Vec2::Zero();
    for (std::size_t k = 0; k < 15; ++k) mean += points[(i + count + k - 7) % count];
    const Vec2 along = points[(i + 7) % count] - points[(i + count - 7) % count], d = points[i] - mean / 15;
    off.push_back(std::abs(along.x() * d.y() - along.y() * d.x()) / std::max(along.norm(), 1e-9));
  }
  return geometry::robust_sigma(std::move(off));
}

/// Halves of the same true shape differ by twice the variance of either.
double explained_difference(const panel::Contour& outline) {
  return 2 * std::numbers::sqrt2 * std::hypot(0.5 * geometry::median(outline.U), roughness(outline.points), 0.1);
}

double extent_along(const Polyline& points, const Vec2& direction) {
  const auto [low, high] = std::minmax_element(
      points.begin(), points.end(), [&](const Vec2& a, const Vec2& b) { return direction.dot(a) < direction.dot(b); });
  return direction.dot(*high - *low);
}

struct Decision {
  std::optional<geometry::MirrorAxis> axis;
  std::string reason;
};

Decision decide(const panel::Contour& outline, const std::optional<panel::CentreLine>& chalk,
                const SymmetryOptions& options, SymmetricOutline& result) {
  if (options.symmetric == Symmetric::no) return {{}, "not asked for"};
  result.explained = explained_difference(outline);
  if (chalk) {
    const Vec2 along = (chalk->to - chalk->from).normalized(), middle = 0.5 * (chalk->from + chalk->to);
    const geometry::KnownAxis known{middle, along, std::hypot(chalk->sigma, options.chalk_sigma),
                                    std::hypot(chalk->sigma_angle, options.chalk_sigma_angle)};
    const geometry::MirrorAxis axis = geometry::fit_mirror_axis(outline.points, middle, along, known);
    result.candidates = {axis};
    return {axis, fmt::format("a centre line is drawn; the halves differ by {:.1f} mm rms about it", axis.rms)};
  }
  result.candidates = geometry::mirror_axes(outline.points);
  // Of several that do, the shortest: a strip is folded across, not along.
  const auto good_end = std::find_if(result.candidates.begin(), result.candidates.end(),
                                     [&](const geometry::MirrorAxis& a) { return a.rms > result.explained; });
  if (good_end != result.candidates.begin())
    std::iter_swap(result.candidates.begin(),
                   std::min_element(result.candidates.begin(), good_end,
                                    [&](const geometry::MirrorAxis& a, const geometry::MirrorAxis& b) {
                                      return extent_along(outline.points, a.direction) <
                                             0.9 * extent_along(outline.points, b.direction);
                                    }));
  const geometry::MirrorAxis& best = result.candidates.front();
  if (best.rms <= result.explained)
    return {best, fmt::format("the halves differ by {:.1f} mm rms, which measurement and fray explain", best.rms)};
  if (options.symmetric == Symmetric::yes)
    return {best, fmt::format("asked for; the halves differ by {:.1f} mm rms", best.rms)};
  return {{},
          fmt::format("no centre line is drawn, and the halves differ by {:.1f} mm rms about the best axis, more than "
                      "the {:.1f} mm that measurement and fray explain",
                      best.rms, result.explained)};
}

geometry::CurveSegment flipped(const geometry::CurveSegment& s) {
  geometry::CurveSegment f = s;
  for (Vec2 geometry::CurveSegment::*p :
       {&geometry::CurveSegment::from, &geometry::CurveSegment::to, &geometry::CurveSegment::centre,
        &geometry::CurveSegment::control1, &geometry::CurveSegment::control2})
    (f.*p).x() = -(f.*p).x();
  f.counter_clockwise = !s.counter_clockwise;
  return f;
}

OutlineEdge flipped(const OutlineEdge& edge) {
  OutlineEdge f = edge;
  f.curve = geometry::reversed(edge.curve);
  for (geometry::CurveSegment& s : f.curve) s = flipped(s);
  std::reverse(f.points.begin(), f.points.end());
  for (Vec2& p : f.points) p.x() = -p.x();
  return f;
}

/// Joins an edge that ends on the axis with its mirror image that starts there; lines, and arcs about a centre on the axis, become one.
OutlineEdge joined(const OutlineEdge& before, const OutlineEdge& after) {
  OutlineEdge edge = before;
  geometry::CurveSegment& last = edge.curve.back();
  const geometry::CurveSegment& first = after.curve.front();
  std::size_t from = 0;
  const bool lines =
      last.kind == geometry::CurveSegment::Kind::line && first.kind == geometry::CurveSegment::Kind::line;
  const bool arcs = last.kind == geometry::CurveSegment::Kind::arc && first.kind == geometry::CurveSegment::Kind::arc &&
                    std::abs(last.centre.x()) < 1e-6;
  const bool whole_circle =
      arcs && before.curve.size() == 1 && after.curve.size() == 1 && std::abs(last.turned()) > 3.1;
  if ((lines || arcs) && !whole_circle) {
    if (arcs) last.centre.x() = 0;
    last.to = first.to;
    from = 1;
  }
  edge.curve.insert(edge.curve.end(), after.curve.begin() + static_cast<std::ptrdiff_t>(from), after.curve.end());
  edge.points.insert(edge.points.end(), after.points.begin(), after.points.end());
  edge.largest_departure = std::max(before.largest_departure, after.largest_departure);
  edge.within_tolerance = before.within_tolerance && after.within_tolerance;
  return edge;
}

/// The right half's edges, from the lowest crossing to the highest, and their mirror images.
std::vector<OutlineEdge> both_halves(const std::vector<OutlineEdge>& right, bool corner_below, bool corner_above) {
  std::vector<OutlineEdge> all = right;
  for (auto edge = right.rbegin(); edge != right.rend(); ++edge) {
    if (edge == right.rbegin() && !corner_above)
      all.back() = joined(all.back(), flipped(*edge));
    else
      all.push_back(flipped(*edge));
  }
  if (!corner_below && all.size() > 1) {
    all.front() = joined(all.back(), all.front());
    all.pop_back();
  }
  return all;
}

/// A half's end on the axis: it slides along it, and crosses it at a right angle unless a corner lies there.
geometry::ChainEnd on_axis(const Vec2& at, bool corner, double heading) {
  geometry::ChainEnd end{at, {}, Vec2::UnitY()};
  if (!corner) end.direction = heading;
  return end;
}

/// Where the outline was and how far it went, every 8 mm on both sides. Axis frame.
void tell_change(const Half& right, const Half& left, const std::vector<Anchor>& anchors, const Half& half, Fold fold,
                 ShapeChange& change) {
  const auto station_on_half = [&](double right_station, double left_station) {
    if (fold == Fold::right) return right_station;
    if (fold == Fold::left) return left_station;
    return -1.0;
  };
  double squares = 0;
  const auto add = [&](const Vec2& before, const Vec2& after, bool mirrored) {
    const Vec2 flip(mirrored ? -1 : 1, 1);
    change.before.push_back(before.cwiseProduct(flip));
    change.moves.push_back((after - before).cwiseProduct(flip));
    squares += (after - before).squaredNorm();
    change.largest = std::max(change.largest, (after - before).norm());
  };
  const auto after_of = [&](double r, double l) {
    const double station = station_on_half(r, l);
    return station >= 0 ? half.at(station) : Vec2(0.5 * (right.at(r) + left.at(l)));
  };
  constexpr double step = 8;  // mm
  for (double r = 0; r < right.length(); r += step) add(right.at(r), after_of(r, left_from_right(anchors, r)), false);
  for (double l = left.length(); l > 0; l -= step) add(left.at(l), after_of(right_from_left(anchors, l), l), true);
  change.rms = std::sqrt(squares / static_cast<double>(std::max<std::size_t>(1, change.before.size())));
}

/// A single mark this near to where the axis crosses the outline marks the middle: wear and the hand moved it off.
constexpr double axis_reach = 6;  // mm

bool marks_the_middle(const OutlineMark& mark, const Half& right, const Half& left) {
  if (std::abs(mark.foot.x()) > axis_reach) return false;
  const auto near = [&](const OutlineMark& other) {
    return other.kind == mark.kind && std::abs(other.foot.x()) < 1.5 * axis_reach &&
           std::abs(other.foot.y() - mark.foot.y()) < 1.5 * axis_reach;
  };
  return std::count_if(right.marks.begin(), right.marks.end(), near) +
             std::count_if(left.marks.begin(), left.marks.end(), near) ==
         1;
}

std::vector<OutlineMark> marks_of_both(const Half& half, const Half& right_half, const Half& left_half, Fold fold) {
  std::vector<OutlineMark> all;
  for (const OutlineMark& mark : half.marks) {
    OutlineMark right = mark, left = mark;
    left.foot.x() = -left.foot.x();
    left.group.in_image = true;
    if (marks_the_middle(mark, right_half, left_half)) {
      right.foot.x() = 0;
      right.origin = MarkOrigin::measured;
      all.push_back(right);
      continue;
    }
    if (fold == Fold::mean && mark.origin == MarkOrigin::mirrored)
      (mark.group.on_left ? left : right).origin = MarkOrigin::measured;
    if (fold == Fold::left) right.origin = MarkOrigin::mirrored;
    if (fold == Fold::right) left.origin = MarkOrigin::mirrored;
    all.push_back(right);
    all.push_back(left);
  }
  return all;
}

}  // namespace

void check(const SymmetryOptions& o) {
  check_option("sigma of a chalked centre line, mm,", o.chalk_sigma, 0, 50);
  check_option("sigma of a chalked centre line's direction, rad,", o.chalk_sigma_angle, 0, 1);
}

SymmetricOutline symmetrise(const panel::Contour& outline, const std::vector<OutlineMark>& marks,
                            const std::optional<panel::CentreLine>& chalk, const SymmetryOptions& options,
                            const EdgeOptions& edge_options) {
  check(options);
  check(edge_options);
  require_at_least("points of the contour", outline.points.size(), 8);
  require_equal("sigmas of the contour", outline.sigma.size(), outline.points.size());
  require_equal("U of the contour", outline.U.size(), outline.points.size());
  SymmetricOutline result;
  const std::vector<geometry::OutlineCorner> corners =
      geometry::find_edge_corners(outline.points, edge_options.corners);
  const auto as_measured = [&] {
    result.edges = fit_edges(outline, edge_options, corners);
    result.marks = marks;
    return result;
  };
  const Decision decision = decide(outline, chalk, options, result);
  result.change.reason = decision.reason;
  if (!decision.axis) return as_measured();

  const geometry::Rigid2 out = panel_from_axis(*decision.axis), in = out.inverse();
  panel::Contour contour = outline;
  for (Vec2& p : contour.points) p = in * p;
  std::vector<geometry::OutlineCorner> corners_in = corners;
  for (geometry::OutlineCorner& corner : corners_in) corner.point = in * corner.point;
  std::vector<OutlineMark> marks_in = marks;
  for (OutlineMark& mark : marks_in) mark.foot = in * mark.foot;
  Half right, left;
  if (!cut_into_halves(contour, corners_in, marks_in, right, left)) {
    result.change.reason = "the axis does not cross the outline";
    return as_measured();
  }
  const std::vector<Anchor> anchors = matched(right, left);
  const Half half = folded(right, left, anchors, options.fold);
  const OutlinePath path{half.path,
                         half.corners,
                         on_axis(half.path.points.front(), half.corner_at_start, 0),
                         on_axis(half.path.points.back(), half.corner_at_end, std::numbers::pi),
                         half.corner_at_start,
                         half.corner_at_end};
  result.edges = both_halves(fit_path_edges(path, edge_options), half.corner_at_start, half.corner_at_end);
  result.marks = marks_of_both(half, right, left, options.fold);
  result.axis = decision.axis;
  result.change.done = true;
  tell_change(right, left, anchors, half, options.fold, result.change);
  // back to the panel's frame
  for (OutlineEdge& edge : result.edges) {
    for (geometry::CurveSegment& s : edge.curve)
      for (Vec2 geometry::CurveSegment::*p :
           {&geometry::CurveSegment::from, &geometry::CurveSegment::to, &geometry::CurveSegment::centre,
            &geometry::CurveSegment::control1, &geometry::CurveSegment::control2})
        s.*p = out * (s.*p);
    for (Vec2& p : edge.points) p = out * p;
  }
  for (OutlineMark& mark : result.marks) mark.foot = out * mark.foot;
  for (std::size_t i = 0; i < result.change.before.size(); ++i) {
    const Vec2 before = result.change.before[i], after = before + result.change.moves[i];
    result.change.before[i] = out * before;
    result.change.moves[i] = out * after - result.change.before[i];
  }
  return result;
}

}  // namespace chalkfold::draft
