// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/stroke_shape.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace chalkfold::trace {

FittedLine fit_line(const Polyline& points) {
  FittedLine line;
  for (const Vec2& p : points) line.middle += p;
  line.middle /= static_cast<double>(points.size());
  Mat2 scatter = Mat2::Zero();
  for (const Vec2& p : points) scatter += (p - line.middle) * (p - line.middle).transpose();
  const Eigen::SelfAdjointEigenSolver<Mat2> eigen(scatter);
  line.direction = eigen.eigenvectors().col(1);
  if (line.direction.dot(points.back() - points.front()) < 0) line.direction = -line.direction;
  line.rms = std::sqrt(std::max(0.0, eigen.eigenvalues()[0]) / static_cast<double>(points.size()));
  line.from = 1e300;
  line.to = -1e300;
  for (const Vec2& p : points) {
    const double t = (p - line.middle).dot(line.direction);
    line.from = std::min(line.from, t);
    line.to = std::max(line.to, t);
  }
  return line;
}

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

OutlineRuler::OutlineRuler(Polyline closed) : points_(std::move(closed)) {
  arc_.reserve(points_.size() + 1);
  arc_.push_back(0);
  for (std::size_t i = 0; i < points_.size(); ++i)
    arc_.push_back(arc_.back() + (points_[(i + 1) % points_.size()] - points_[i]).norm());
}

OutlineRuler::Place OutlineRuler::nearest(const Vec2& point) const {
  constexpr double slack = 1e-6;  // mm, well above what rounding does to a distance
  Place best;
  double least = 1e300, to_point = 1e300;
  for (const Vec2& p : points_) to_point = std::min(to_point, (point - p).squaredNorm());
  to_point = std::sqrt(to_point);
  for (std::size_t i = 0; i < points_.size(); ++i) {
    // The outline is no farther than its nearest point, and a segment no nearer than its start less its length: nearly all need no closer look.
    const double reach = to_point + (arc_[i + 1] - arc_[i]) + slack;
    if ((point - points_[i]).squaredNorm() > reach * reach) continue;
    const Vec2 a = points_[i], d = points_[(i + 1) % points_.size()] - a;
    const double t = d.squaredNorm() > 0 ? std::clamp((point - a).dot(d) / d.squaredNorm(), 0.0, 1.0) : 0;
    const double off = (a + t * d - point).squaredNorm();
    if (off < least) {
      least = off;
      best = {arc_[i] + t * d.norm(), a + t * d, i};
    }
  }
  return best;
}

OutlineRuler::Place OutlineRuler::at(double along) const {
  double s = std::fmod(along, length());
  if (s < 0) s += length();
  const auto next = std::upper_bound(arc_.begin(), arc_.end(), s);
  const auto i = static_cast<std::size_t>(
      std::clamp<std::ptrdiff_t>(next - arc_.begin() - 1, 0, static_cast<std::ptrdiff_t>(points_.size()) - 1));
  const double run = arc_[i + 1] - arc_[i], t = run > 0 ? (s - arc_[i]) / run : 0;
  return {s, points_[i] + t * (points_[(i + 1) % points_.size()] - points_[i]), i};
}

std::optional<OutlineRuler::Place> OutlineRuler::crossing(const Vec2& from, const Vec2& direction, double reach) const {
  std::optional<Place> best;
  double least = reach;
  for (std::size_t i = 0; i < points_.size(); ++i) {
    const Vec2 a = points_[i], d = points_[(i + 1) % points_.size()] - a;
    const double det = direction.x() * d.y() - direction.y() * d.x();
    if (std::abs(det) < 1e-12) continue;
    const Vec2 off = a - from;
    const double ahead = (off.x() * d.y() - off.y() * d.x()) / det,
                 t = (off.x() * direction.y() - off.y() * direction.x()) / det;
    if (t < 0 || t > 1 || ahead < 0 || ahead > least) continue;
    least = ahead;
    best = Place{arc_[i] + t * d.norm(), a + t * d, i};
  }
  return best;
}

Vec2 OutlineRuler::outward(const Place& place, double arm) const {
  const Vec2 t = (at(place.along + arm).at - at(place.along - arm).at).normalized();
  return {t.y(), -t.x()};
}

double OutlineRuler::apart(double a, double b) const {
  const double d = std::fmod(std::abs(a - b), length());
  return std::min(d, length() - d);
}

}  // namespace chalkfold::trace
