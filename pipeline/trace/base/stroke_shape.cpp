// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/stroke_shape.h"

#include <algorithm>
#include <cmath>

namespace chalkfold::trace {

std::vector<Polyline> straight_runs(const Polyline& points, double tolerance) {
  if (points.size() < 3) return {points};
  const Vec2 chord = points.back() - points.front();
  const double norm = std::max(chord.norm(), 1e-9);
  std::size_t farthest = 0;
  double most = tolerance;
  for (std::size_t i = 1; i + 1 < points.size(); ++i) {
    const Vec2 d = points[i] - points.front();
    const double off = std::abs(chord.x() * d.y() - chord.y() * d.x()) / norm;
    if (off > most) {
      most = off;
      farthest = i;
    }
  }
  if (farthest == 0) return {points};
  const auto cut = points.begin() + static_cast<std::ptrdiff_t>(farthest);
  std::vector<Polyline> runs = straight_runs(Polyline(points.begin(), cut + 1), tolerance);
  for (Polyline& run : straight_runs(Polyline(cut, points.end()), tolerance)) runs.push_back(std::move(run));
  return runs;
}

Polyline longest_straight_run(const Polyline& points, double tolerance) {
  std::vector<Polyline> runs = straight_runs(points, tolerance);
  return std::move(*std::max_element(runs.begin(), runs.end(), [](const Polyline& a, const Polyline& b) {
    return (a.back() - a.front()).norm() < (b.back() - b.front()).norm();
  }));
}

Polyline smoothed(const Polyline& points, std::size_t reach) {
  Polyline out(points.size());
  for (std::size_t i = 0; i < points.size(); ++i) {
    // even about the point, so that ends do not shrink
    const std::size_t r = std::min({reach, i, points.size() - 1 - i});
    Vec2 sum = Vec2::Zero();
    for (std::size_t k = i - r; k <= i + r; ++k) sum += points[k];
    out[i] = sum / static_cast<double>(2 * r + 1);
  }
  return out;
}

}  // namespace chalkfold::trace
