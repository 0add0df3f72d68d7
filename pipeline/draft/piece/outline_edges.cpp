// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/outline_edges.h"

#include <fmt/format.h>

#include <Eigen/LU>
#include <algorithm>
#include <cmath>

#include "pipeline/common/check_option.h"
#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/robust.h"

namespace chalkfold::draft {
namespace {

/// A segment's own line or circle, beyond its ends as well; cubics go on straight. `along` is mm from the start.
geometry::CurvePlace carried_on(const geometry::CurveSegment& s, double along) {
  const double whole = s.length();
  if (s.kind == geometry::CurveSegment::Kind::arc) {
    const double turn = (s.counter_clockwise ? 1 : -1) * along / s.radius();
    const Vec2 arm = s.from - s.centre;
    const Vec2 out(std::cos(turn) * arm.x() - std::sin(turn) * arm.y(),
                   std::sin(turn) * arm.x() + std::cos(turn) * arm.y());
    const Vec2 left(-out.y(), out.x());
    return {s.centre + out, (s.counter_clockwise ? left : Vec2(-left)).normalized()};
  }
  if (along <= 0) return {s.from + along * s.direction(0), s.direction(0)};
  if (along >= whole) return {s.to + (along - whole) * s.direction(1), s.direction(1)};
  if (s.kind == geometry::CurveSegment::Kind::line) return {s.from + along * s.direction(0), s.direction(0)};
  return geometry::place_along({s}, along);
}

/// The contour's points between two corners, those near the corners left out of the fit.
struct Run {
  Polyline points, inner;
  std::vector<double> inner_sigma, sigma, U;
};

/// What bounds a run: a corner, or an end of the path that is none.
struct Bound {
  double along = 0;
  bool corner = true;
};

Run run_between(const panel::Contour& path, const std::vector<double>& stations, const Bound& from, const Bound& to,
                double blunt) {
  Run run;
  blunt = std::min(blunt, 0.15 * (to.along - from.along));
  for (std::size_t i = 0; i < path.points.size(); ++i) {
    if (stations[i] < from.along - 1e-9 || stations[i] > to.along + 1e-9) continue;
    run.points.push_back(path.points[i]);
    run.sigma.push_back(path.sigma[i]);
    run.U.push_back(path.U[i]);
    if ((from.corner && stations[i] < from.along + blunt) || (to.corner && stations[i] > to.along - blunt)) continue;
    run.inner.push_back(path.points[i]);
    run.inner_sigma.push_back(path.sigma[i]);
  }
  if (run.inner.size() < 3) {
    run.inner = run.points;
    run.inner_sigma = run.sigma;
  }
  if (run.inner.size() < 3)
    throw PreconditionError(
        fmt::format("an edge of {} points, from {} to {} mm", run.inner.size(), from.along, to.along));
  return run;
}

geometry::CurveFitOptions curve_options(const EdgeOptions& options) {
  geometry::CurveFitOptions o;
  o.tolerance = options.tolerance;
  return o;
}

OutlineEdge edge_of(const geometry::CurveFit& fit, const Run& run) {
  return {fit.curve, fit.largest_departure, fit.within_tolerance, geometry::median(run.sigma), geometry::median(run.U),
          run.points};
}

/// No corner: the whole outline is one edge.
OutlineEdge round_edge(const panel::Contour& outline, const EdgeOptions& options) {
  geometry::CurveFitOptions o = curve_options(options);
  o.closed = true;
  return edge_of(geometry::fit_curve(outline.points, outline.sigma, o),
                 {outline.points, outline.points, outline.sigma, outline.sigma, outline.U});
}

/// The closed outline as a path that starts and ends at its first corner.
OutlinePath opened(const panel::Contour& outline, const std::vector<geometry::OutlineCorner>& corners) {
  const std::size_t n = outline.points.size();
  std::vector<double> stations(n, 0);
  for (std::size_t i = 1; i < n; ++i)
    stations[i] = stations[i - 1] + (outline.points[i] - outline.points[i - 1]).norm();
  const double round = stations.back() + (outline.points.front() - outline.points.back()).norm();
  const auto first =
      static_cast<std::size_t>(std::lower_bound(stations.begin(), stations.end(), corners[0].along) - stations.begin());
  OutlinePath path;
  for (std::size_t k = 0; k <= n; ++k) {
    const std::size_t i = (first + k) % n;
    path.contour.points.push_back(outline.points[i]);
    path.contour.sigma.push_back(outline.sigma[i]);
    path.contour.U.push_back(outline.U[i]);
  }
  const double start = first < n ? stations[first] : 0;
  for (std::size_t i = 1; i < corners.size(); ++i) {
    path.corners.push_back(corners[i]);
    path.corners.back().along = std::fmod(corners[i].along - start + 2 * round, round);
  }
  return path;
}

/// Runs between the bounds, each fitted alone, then again with the places held where neighbours meet.
class PathFitter {
 public:
  PathFitter(const OutlinePath& path, const EdgeOptions& options) : path_(path), options_(options) {
    std::vector<double> stations{0};
    for (std::size_t i = 1; i < path.contour.points.size(); ++i)
      stations.push_back(stations.back() + (path.contour.points[i] - path.contour.points[i - 1]).norm());
    std::vector<Bound> bounds{{0, path.start_is_corner}};
    for (const geometry::OutlineCorner& corner : path.corners) bounds.push_back({corner.along, true});
    bounds.push_back({stations.back(), path.end_is_corner});
    for (std::size_t i = 0; i + 1 < bounds.size(); ++i) {
      runs_.push_back(run_between(path.contour, stations, bounds[i], bounds[i + 1], options.blunt));
      fits_.push_back(geometry::fit_curve(runs_[i].inner, runs_[i].inner_sigma, ends(i, {}, {})));
    }
  }

  Vec2 meet(std::size_t before, std::size_t after, const Vec2& otherwise) const {
    const auto crossing = meeting_point(fits_[before].curve, fits_[after].curve, 4 * options_.blunt);
    return crossing ? *crossing : otherwise;
  }

  /// `around`: where the path's start and end meet, when it is closed.
  std::vector<OutlineEdge> edges(const std::optional<Vec2>& around) const {
    std::vector<std::optional<Vec2>> held(runs_.size() + 1);
    held.front() = held.back() = around;
    for (std::size_t i = 1; i < runs_.size(); ++i) held[i] = meet(i - 1, i, path_.corners[i - 1].point);
    std::vector<OutlineEdge> edges;
    for (std::size_t i = 0; i < runs_.size(); ++i) {
      geometry::CurveFitOptions o = ends(i, held[i], held[i + 1]);
      o.like = fits_[i].chain;
      edges.push_back(edge_of(geometry::fit_curve(runs_[i].inner, runs_[i].inner_sigma, o), runs_[i]));
    }
    return edges;
  }

  std::size_t count() const { return runs_.size(); }

 private:
  geometry::CurveFitOptions ends(std::size_t i, const std::optional<Vec2>& from, const std::optional<Vec2>& to) const {
    geometry::CurveFitOptions o = curve_options(options_);
    if (i == 0) o.start = path_.start;
    if (i == path_.corners.size()) o.end = path_.end;
    if (from) o.start = {*from, {}, {}};
    if (to) o.end = {*to, {}, {}};
    return o;
  }

  const OutlinePath& path_;
  const EdgeOptions& options_;
  std::vector<Run> runs_;
  std::vector<geometry::CurveFit> fits_;
};

/// So many points, each with sigma and U.
void require_whole(const panel::Contour& contour, std::size_t least, const CallPlace& where = CallPlace::here()) {
  require_at_least("points of the contour", contour.points.size(), least, where);
  require_equal("sigmas of the contour", contour.sigma.size(), contour.points.size(), where);
  require_equal("U of the contour", contour.U.size(), contour.points.size(), where);
}

}  // namespace

std::optional<Vec2> meeting_point(const geometry::Curve& first, const geometry::Curve& second, double reach) {
  require_at_least("segments of the first curve", first.size(), 1);
  require_at_least("segments of the second curve", second.size(), 1);
  const geometry::CurveSegment &a = first.back(), &b = second.front();
  double s = a.length(), t = 0;
  for (int i = 0; i < 30; ++i) {
    const geometry::CurvePlace p = carried_on(a, s), q = carried_on(b, t);
    const Vec2 gap = q.point - p.point;
    if (gap.norm() < 1e-12) break;
    Eigen::Matrix2d m;
    m << p.direction, -q.direction;
    if (std::abs(m.determinant()) < 0.05) return std::nullopt;
    const Eigen::Vector2d step = m.inverse() * gap;
    s += std::clamp(step[0], -reach, reach);
    t += std::clamp(step[1], -reach, reach);
    if (step.norm() < 1e-13) break;
  }
  const Vec2 at = carried_on(a, s).point;
  if ((at - carried_on(b, t).point).norm() > 1e-6 || (at - a.to).norm() > reach || (at - b.from).norm() > reach)
    return std::nullopt;
  return at;
}

void check(const EdgeOptions& o) {
  check(o.corners);
  check_option("tolerance, mm,", o.tolerance, 0.02, 5);
  check_option("blunt corners, mm,", o.blunt, 0, 50);
}

std::vector<OutlineEdge> fit_path_edges(const OutlinePath& path, const EdgeOptions& options) {
  check(options);
  require_whole(path.contour, 3);
  return PathFitter(path, options).edges({});
}

std::vector<OutlineEdge> fit_edges(const panel::Contour& outline, const EdgeOptions& options,
                                   const std::optional<std::vector<geometry::OutlineCorner>>& given) {
  check(options);
  require_whole(outline, 3);
  const std::vector<geometry::OutlineCorner> corners =
      given ? *given : geometry::find_edge_corners(outline.points, options.corners);
  if (corners.empty()) return {round_edge(outline, options)};
  const OutlinePath path = opened(outline, corners);
  const PathFitter fitter(path, options);
  return fitter.edges(fitter.meet(fitter.count() - 1, 0, corners[0].point));
}

}  // namespace chalkfold::draft
