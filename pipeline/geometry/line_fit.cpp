// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/line_fit.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

#include "pipeline/geometry/robust.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

/// Without extent and rms.
FittedLine weighted_line(const Polyline& points, const std::vector<double>& weight) {
  FittedLine line;
  double total = 0, xx = 0, xy = 0, yy = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    line.middle += weight[i] * points[i];
    total += weight[i];
  }
  line.middle /= total;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Vec2 d = points[i] - line.middle;
    xx += weight[i] * d.x() * d.x();
    xy += weight[i] * d.x() * d.y();
    yy += weight[i] * d.y() * d.y();
  }
  line.direction = unit(principal_angle(xx, xy, yy));
  if (line.direction.dot(points.back() - points.front()) < 0) line.direction = -line.direction;
  return line;
}

FittedLine measured(FittedLine line, const Polyline& points) {
  double squares = 0;
  line.from = 1e300;
  line.to = -1e300;
  for (const Vec2& p : points) {
    const double along = (p - line.middle).dot(line.direction), off = cross(line.direction, p - line.middle);
    line.from = std::min(line.from, along);
    line.to = std::max(line.to, along);
    squares += off * off;
  }
  line.rms = std::sqrt(squares / static_cast<double>(points.size()));
  return line;
}

}  // namespace

FittedLine fit_line(const Polyline& points) {
  return measured(weighted_line(points, std::vector<double>(points.size(), 1)), points);
}

FittedLine fit_line_robustly(const Polyline& points, double least_limit) {
  constexpr int rounds = 4;
  std::vector<double> weight(points.size(), 1), off(points.size());
  FittedLine line;
  for (int round = 0; round < rounds; ++round) {
    line = weighted_line(points, weight);
    if (round + 1 == rounds) break;
    for (std::size_t i = 0; i < points.size(); ++i) off[i] = std::abs(cross(line.direction, points[i] - line.middle));
    const double limit = std::max(least_limit, 2 * median(off));
    for (std::size_t i = 0; i < points.size(); ++i) weight[i] = off[i] > limit ? limit / off[i] : 1;
  }
  return measured(line, points);
}

double principal_angle(double xx, double xy, double yy) { return 0.5 * std::atan2(2 * xy, xx - yy); }

}  // namespace chalkfold::geometry
