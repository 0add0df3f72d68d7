// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/line_fit.h"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

#include "pipeline/geometry/robust.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

FittedLine directed(FittedLine line, const Vec2& axis, const Polyline& points) {
  line.direction = axis.dot(points.back() - points.front()) < 0 ? Vec2(-axis) : axis;
  return line;
}

/// Without extent and rms. In closed form, several times as quick as an eigenvalue solver; the plain fit keeps the solver's rounding, on
/// which ties between strokes hang.
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
  return directed(line, unit(principal_angle(xx, xy, yy)), points);
}

/// `squares`: sum of the squared departures, mm2.
FittedLine measured(FittedLine line, const Polyline& points, double squares) {
  line.from = 1e300;
  line.to = -1e300;
  for (const Vec2& p : points) {
    const double along = (p - line.middle).dot(line.direction);
    line.from = std::min(line.from, along);
    line.to = std::max(line.to, along);
  }
  line.rms = std::sqrt(squares / static_cast<double>(points.size()));
  return line;
}

}  // namespace

FittedLine fit_line(const Polyline& points) {
  FittedLine line;
  for (const Vec2& p : points) line.middle += p;
  line.middle /= static_cast<double>(points.size());
  Mat2 scatter = Mat2::Zero();
  for (const Vec2& p : points) scatter += (p - line.middle) * (p - line.middle).transpose();
  const Eigen::SelfAdjointEigenSolver<Mat2> eigen(scatter);
  return measured(directed(line, eigen.eigenvectors().col(1), points), points, std::max(0.0, eigen.eigenvalues()[0]));
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
  double squares = 0;
  for (const Vec2& p : points) squares += std::pow(cross(line.direction, p - line.middle), 2);
  return measured(line, points, squares);
}

double principal_angle(double xx, double xy, double yy) { return 0.5 * std::atan2(2 * xy, xx - yy); }

}  // namespace chalkfold::geometry
