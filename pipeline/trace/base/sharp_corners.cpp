// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/sharp_corners.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "pipeline/geometry/line_fit.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::trace {
namespace {

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001, and the photographs
constexpr double tip = 1.0;          // mm either side that the arms leave out: fray and the followed boundary's steps
constexpr double carried_tip = 2.5;  // mm, the same for the quadratics, which a rounded tip bends; fitted
constexpr double carried_arm = 1.5;  // arms that the quadratics are fitted over; fitted
// of the turn asked for, that is left when both sides are carried on; fitted
constexpr double carried_share = 2.0 / 3.0;
constexpr int least_points = 3;  // of an arm: a line through fewer has no scatter
constexpr int least_arms = 5;    // of a boundary: the quadratics' arms either side, their gaps, and one to spare

struct Line {
  Vec2 point, direction;
};

/// Points first..last (circular indices).
Polyline stretch_of(const Polyline& closed, int first, int last) {
  const int n = static_cast<int>(closed.size());
  Polyline out;
  out.reserve(static_cast<std::size_t>(last - first) + 1);
  for (int i = first; i <= last; ++i) out.push_back(closed[static_cast<std::size_t>(((i % n) + n) % n)]);
  return out;
}

Vec2 heading_of(const Polyline& closed, int first, int last) {
  return geometry::fit_line(stretch_of(closed, first, last)).direction;
}

double turn_between(const Vec2& a, const Vec2& b) { return std::atan2(geometry::cross(a, b), a.dot(b)); }

/// Point and direction of a quadratic through points first..last, carried on to index `to`, which lies beyond one end.
Line carried_on(const Polyline& closed, int first, int last, int to) {
  const Polyline points = stretch_of(closed, first, last);
  const Vec2 end = stretch_of(closed, to, to).front();
  const geometry::FittedLine line = geometry::fit_line(points);
  const Vec2 across = geometry::left_of(line.direction);
  Mat3 normal = Mat3::Zero();
  Vec3 right = Vec3::Zero();
  for (const Vec2& p : points) {
    const double u = line.direction.dot(p - line.middle);
    const Vec3 b(1, u, u * u);
    normal += b * b.transpose();
    right += across.dot(p - line.middle) * b;
  }
  const Vec3 q = normal.ldlt().solve(right);
  const double u = line.direction.dot(end - line.middle);
  return {line.middle + u * line.direction + (q[0] + q[1] * u + q[2] * u * u) * across,
          (line.direction + (q[1] + 2 * q[2] * u) * across).normalized()};
}

}  // namespace

std::vector<SharpCorner> find_sharp_corners(const Polyline& closed, double spacing, double arm, double least_turn) {
  const int n = static_cast<int>(closed.size());
  const int reach = std::max(least_points, static_cast<int>(std::lround(arm / spacing))),
            gap = std::max(1, static_cast<int>(std::lround(tip / spacing)));
  const int wide_gap = std::max(2, static_cast<int>(std::lround(carried_tip / spacing))),
            wide_reach = static_cast<int>(std::lround(carried_arm * reach));
  std::vector<SharpCorner> corners;
  if (n < least_arms * reach) return corners;
  std::vector<double> turn(static_cast<std::size_t>(n));
  for (int i = 0; i < n; ++i)
    turn[static_cast<std::size_t>(i)] = std::abs(
        turn_between(heading_of(closed, i - gap - reach, i - gap), heading_of(closed, i + gap, i + gap + reach)));
  for (int i = 0; i < n; ++i) {
    const double here = turn[static_cast<std::size_t>(i)];
    if (here < least_turn) continue;
    bool top = true;
    for (int d = -reach; d <= reach && top; ++d) {
      const double other = turn[static_cast<std::size_t>((i + d + n) % n)];
      top = d == 0 || other < here || (other == here && d > 0);
    }
    if (!top) continue;
    const Line a = carried_on(closed, i - wide_gap - wide_reach, i - wide_gap, i),
               b = carried_on(closed, i + wide_gap, i + wide_gap + wide_reach, i);
    const double carried = turn_between(a.direction, b.direction);
    if (std::abs(carried) < carried_share * least_turn) continue;
    Mat2 m;
    m << a.direction, -b.direction;
    SharpCorner corner;
    corner.point = a.point + a.direction * (m.inverse() * (b.point - a.point)).x();
    corner.before = a.direction;
    corner.after = b.direction;
    corner.turn = carried;
    int nearest = i;
    const auto away = [&](int k) { return (closed[static_cast<std::size_t>((k + n) % n)] - corner.point).norm(); };
    for (int d = -reach; d <= reach; ++d) {
      if (away(i + d) < away(nearest)) nearest = i + d;
    }
    corner.cut = away(nearest);
    corner.at = static_cast<double>((nearest + n) % n);
    corners.push_back(corner);
  }
  std::sort(corners.begin(), corners.end(), [](const auto& a, const auto& b) { return a.at < b.at; });
  return corners;
}

}  // namespace chalkfold::trace
