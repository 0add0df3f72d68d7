// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/cubic_fit.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>

#include "pipeline/common/require.h"
#include "pipeline/geometry/parallel.h"
#include "pipeline/geometry/segment.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

double signed_distance(const Polyline& path, const Vec2& p, std::size_t& hint) {
  double best = 1e300, value = 0;
  std::size_t at = hint;
  const std::size_t last = std::min(path.size() - 1, hint + 40);
  for (std::size_t i = hint > 5 ? hint - 5 : 0; i < last; ++i) {
    const double away = nearest_on_segment(p, path[i], path[i + 1]).offset.norm();
    if (away < best) {
      best = away;
      value = cross(path[i + 1] - path[i], p - path[i]) >= 0 ? best : -best;
      at = i;
    }
  }
  hint = at;
  return value;
}

/// Off the true curve by far less than any tolerance, so that distances to it are distances to the curve.
constexpr double flat = 0.003;  // mm

CurveSegment cubic_between(const CurveSegment& first, const CurveSegment& last, double start_handle,
                           double end_handle) {
  CurveSegment c;
  c.kind = CurveSegment::Kind::cubic;
  c.from = first.from;
  c.to = last.to;
  c.control1 = c.from + start_handle * first.direction(0);
  c.control2 = c.to - end_handle * last.direction(1);
  return c;
}

std::vector<double> distances_to_one(const CurveSegment& s, const Polyline& points) {
  return distances_to_curve({s}, points);
}

/// Both handles by damped Gauss-Newton.
CurveSegment fitted_cubic(const CurveSegment& first, const CurveSegment& last, double row_length,
                          const WeightedPoints& near) {
  Eigen::Vector2d handles(row_length / 3, row_length / 3);
  const auto cost = [&](const std::vector<double>& d) {
    double sum = 0;
    for (std::size_t i = 0; i < d.size(); ++i) sum += near.weight[i] * d[i] * d[i];
    return sum;
  };
  const auto at = [&](const Eigen::Vector2d& h) {
    return distances_to_one(cubic_between(first, last, h[0], h[1]), near.points);
  };
  std::vector<double> now = at(handles);
  for (int iteration = 0; iteration < 12; ++iteration) {
    const double step = 1e-3 * row_length;
    Eigen::Matrix2d normal = Eigen::Matrix2d::Zero();
    Eigen::Vector2d right = Eigen::Vector2d::Zero();
    const std::vector<double> a = at(handles + Eigen::Vector2d(step, 0)), b = at(handles + Eigen::Vector2d(0, step));
    for (std::size_t i = 0; i < now.size(); ++i) {
      const Eigen::Vector2d j((a[i] - now[i]) / step, (b[i] - now[i]) / step);
      normal += near.weight[i] * j * j.transpose();
      right -= near.weight[i] * now[i] * j;
    }
    normal += 1e-6 * normal.trace() * Eigen::Matrix2d::Identity();
    const Eigen::Vector2d next =
        (handles + normal.ldlt().solve(right)).cwiseMax(0.05 * row_length).cwiseMin(row_length);
    const std::vector<double> then = at(next);
    if (!(cost(then) < cost(now))) break;
    const double moved = (next - handles).norm();
    handles = next;
    now = then;
    if (moved < 1e-5 * row_length) break;
  }
  return cubic_between(first, last, handles[0], handles[1]);
}

/// Points beside the stretch of the curve from segment `first` to `last`.
WeightedPoints beside(const Curve& curve, std::size_t first, std::size_t last, const WeightedPoints& all) {
  WeightedPoints near;
  const CurveSegment &a = curve[first], &b = curve[last];
  const double reach = [&] {
    double sum = 0;
    for (std::size_t i = first; i <= last; ++i) sum += curve[i].length();
    return sum;
  }();
  const Polyline path = flattened(
      Curve(curve.begin() + static_cast<std::ptrdiff_t>(first), curve.begin() + static_cast<std::ptrdiff_t>(last) + 1),
      0.1);
  for (std::size_t i = 0; i < all.points.size(); ++i) {
    const Vec2& p = all.points[i];
    if (a.direction(0).dot(p - a.from) < 0 && (p - a.from).norm() < reach) continue;
    if (b.direction(1).dot(p - b.to) > 0 && (p - b.to).norm() < reach) continue;
    double nearest = 1e300;
    for (const Vec2& q : path) nearest = std::min(nearest, (q - p).norm());
    if (nearest > 0.25 * reach) continue;
    near.points.push_back(p);
    near.weight.push_back(all.weight[i]);
  }
  return near;
}

/// A cubic may bend tightly where nobody looks, between two points or at its ends: not much more than the arcs that it stands for.
bool bends_more(const CurveSegment& cubic, const Curve& curve, std::size_t first, std::size_t last) {
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t i = first; i <= last; ++i) least = std::min(least, curve[i].radius());
  return std::min(least_radius(cubic, true), least_radius(cubic, false)) < 0.6 * least;
}

bool arcs_only(const Curve& curve, std::size_t first, std::size_t last) {
  double turn = 0;
  for (std::size_t i = first; i <= last; ++i) {
    if (curve[i].kind != CurveSegment::Kind::arc) return false;
    turn += std::abs(curve[i].turned());
  }
  return turn < 2.5;  // rad; a cubic cannot turn much more
}

}  // namespace

std::vector<double> distances_to_curve(const Curve& curve, const Polyline& points) {
  require_at_least("segments of the curve", curve.size(), 1);
  const Polyline path = flattened(curve, flat);
  std::vector<double> d;
  d.reserve(points.size());
  std::size_t hint = 0;
  for (const Vec2& p : points) d.push_back(signed_distance(path, p, hint));
  return d;
}

CubicMerge merge_arcs(const Curve& curve, const WeightedPoints& points,
                      const std::function<bool(const std::vector<double>&)>& good) {
  require_equal("weights of the points", points.weight.size(), points.points.size());
  CubicMerge merged{curve, false};
  for (std::size_t row = curve.size(); row >= 2; --row)
    for (std::size_t first = 0; first + row <= merged.curve.size(); ++first) {
      const std::size_t last = first + row - 1;
      if (!arcs_only(merged.curve, first, last)) continue;
      double row_length = 0;
      for (std::size_t i = first; i <= last; ++i) row_length += merged.curve[i].length();
      const WeightedPoints near = beside(merged.curve, first, last, points);
      if (near.points.size() < 5) continue;
      Curve tried = merged.curve;
      tried[first] = fitted_cubic(merged.curve[first], merged.curve[last], row_length, near);
      tried.erase(tried.begin() + static_cast<std::ptrdiff_t>(first) + 1,
                  tried.begin() + static_cast<std::ptrdiff_t>(last) + 1);
      if (bends_more(tried[first], merged.curve, first, last) || !good(distances_to_curve(tried, points.points)))
        continue;
      merged = {tried, true};
    }
  return merged;
}

}  // namespace chalkfold::geometry
