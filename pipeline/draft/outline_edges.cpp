// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/outline_edges.h"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>

#include "pipeline/geometry/polygon.h"

namespace chalkfold {
namespace {

/// A segment's own line or circle, beyond its ends as well; cubics go on straight. `along` is mm from the start.
CurvePlace carried_on(const CurveSegment& s, double along) {
  const double whole = s.length();
  if (s.kind == CurveSegment::Kind::arc) {
    const double turn = (s.counter_clockwise ? 1 : -1) * along / s.radius();
    const Vec2 arm = s.from - s.centre;
    const Vec2 out(std::cos(turn) * arm.x() - std::sin(turn) * arm.y(), std::sin(turn) * arm.x() + std::cos(turn) * arm.y());
    const Vec2 left(-out.y(), out.x());
    return {s.centre + out, (s.counter_clockwise ? left : Vec2(-left)).normalized()};
  }
  if (along <= 0) return {s.from + along * s.direction(0), s.direction(0)};
  if (along >= whole) return {s.to + (along - whole) * s.direction(1), s.direction(1)};
  if (s.kind == CurveSegment::Kind::line) return {s.from + along * s.direction(0), s.direction(0)};
  return place_along({s}, along);
}

double median(std::vector<double> v) {
  if (v.empty()) return 0;
  const auto middle = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
  std::nth_element(v.begin(), middle, v.end());
  return *middle;
}

/// The contour's points between two corners, those near the corners left out of the fit.
struct Run {
  Polyline points, inner;
  std::vector<double> inner_sigma, sigma, U;
};

class EdgeFitter {
 public:
  EdgeFitter(const Contour& outline, const EdgeOptions& options) : outline_(outline), options_(options) {
    stations_.push_back(0);
    for (std::size_t i = 0; i < outline.points.size(); ++i)
      stations_.push_back(stations_.back() + (outline.points[(i + 1) % outline.points.size()] - outline.points[i]).norm());
  }

  std::vector<OutlineEdge> run(const std::vector<OutlineCorner>& corners) const {
    if (corners.empty()) return {round_edge()};
    std::vector<Run> runs;
    std::vector<CurveFit> fits;
    for (std::size_t i = 0; i < corners.size(); ++i) {
      runs.push_back(between(corners[i].along, corners[(i + 1) % corners.size()].along));
      fits.push_back(fit_curve(runs[i].inner, runs[i].inner_sigma, curve_options()));
    }
    std::vector<Vec2> meet(corners.size());
    for (std::size_t i = 0; i < corners.size(); ++i) {
      const std::size_t before = (i + corners.size() - 1) % corners.size();
      const auto crossing = meeting_point(fits[before].curve, fits[i].curve, 4 * options_.blunt);
      meet[i] = crossing ? *crossing : corners[i].point;
    }
    std::vector<OutlineEdge> edges;
    for (std::size_t i = 0; i < corners.size(); ++i) {
      CurveFitOptions o = curve_options();
      o.start.point = meet[i];
      o.end.point = meet[(i + 1) % corners.size()];
      edges.push_back(edge_of(fit_curve(runs[i].inner, runs[i].inner_sigma, o), runs[i]));
    }
    return edges;
  }

 private:
  CurveFitOptions curve_options() const {
    CurveFitOptions o;
    o.tolerance = options_.tolerance;
    return o;
  }

  OutlineEdge edge_of(const CurveFit& fit, const Run& run) const {
    return {fit.curve, fit.largest_departure, fit.within_tolerance, median(run.sigma), median(run.U), run.points};
  }

  Run between(double from, double to) const {
    const double round = stations_.back();
    if (to <= from) to += round;
    const double blunt = std::min(options_.blunt, 0.15 * (to - from));
    Run run;
    const std::size_t n = outline_.points.size();
    const auto first = static_cast<std::size_t>(std::lower_bound(stations_.begin(), stations_.end() - 1, from) - stations_.begin());
    for (std::size_t k = 0; k < 2 * n; ++k) {
      const std::size_t i = (first + k) % n;
      const double at = stations_[i] + round * static_cast<double>((first + k) / n);
      if (at > to) break;
      run.points.push_back(outline_.points[i]);
      run.sigma.push_back(outline_.sigma[i]);
      run.U.push_back(outline_.U[i]);
      if (at < from + blunt || at > to - blunt) continue;
      run.inner.push_back(outline_.points[i]);
      run.inner_sigma.push_back(outline_.sigma[i]);
    }
    if (run.inner.size() < 3) {
      run.inner = run.points;
      run.inner_sigma = run.sigma;
    }
    while (run.inner.size() < 3) {  // two corners within a few points of each other
      run.inner.push_back(run.inner.empty() ? outline_.points[first % n] : run.inner.back() + Vec2(1e-3, 0));
      run.inner_sigma.push_back(1);
    }
    return run;
  }

  /// No corner: the run starts where the outline is straightest, and ends there.
  OutlineEdge round_edge() const {
    CurveFitOptions o = curve_options();
    o.closed = true;
    const Run run{outline_.points, outline_.points, outline_.sigma, outline_.sigma, outline_.U};
    return edge_of(fit_curve(run.inner, run.inner_sigma, o), run);
  }

  const Contour& outline_;
  const EdgeOptions& options_;
  std::vector<double> stations_;
};

}  // namespace

std::optional<Vec2> meeting_point(const Curve& first, const Curve& second, double reach) {
  const CurveSegment &a = first.back(), &b = second.front();
  double s = a.length(), t = 0;
  for (int i = 0; i < 30; ++i) {
    const CurvePlace p = carried_on(a, s), q = carried_on(b, t);
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
  if ((at - carried_on(b, t).point).norm() > 1e-6 || (at - a.to).norm() > reach || (at - b.from).norm() > reach) return std::nullopt;
  return at;
}

std::vector<OutlineEdge> fit_edges(const Contour& outline, const EdgeOptions& options, const std::optional<std::vector<OutlineCorner>>& corners) {
  return EdgeFitter(outline, options).run(corners ? *corners : find_corners_along(outline.points, options.corners));
}

}  // namespace chalkfold
