// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/polygon.h"

#include <algorithm>
#include <cmath>

#include "pipeline/common/require.h"
#include "pipeline/geometry/segment.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {

Box bounding_box(const Polyline& points) {
  Box box;
  for (const Vec2& p : points) box.add(p);
  return box;
}

double signed_area(const Polyline& closed) {
  double twice = 0;
  for (std::size_t i = 0; i < closed.size(); ++i) {
    // Relative to the first point, so that a far-away origin costs no digits.
    twice += cross(closed[i] - closed[0], closed[(i + 1) % closed.size()] - closed[0]);
  }
  return 0.5 * twice;
}

Vec2 centroid(const Polyline& closed) {
  require_at_least("points of the outline", closed.size(), 1);
  Vec2 sum = Vec2::Zero(), mean = Vec2::Zero();
  double twice = 0;
  for (std::size_t i = 0; i < closed.size(); ++i) {
    const Vec2 a = closed[i] - closed[0], b = closed[(i + 1) % closed.size()] - closed[0];
    const double c = cross(a, b);
    twice += c;
    sum += c * (a + b);
    mean += a / static_cast<double>(closed.size());
  }
  if (std::abs(twice) < 1e-12) return closed[0] + mean;
  return closed[0] + sum / (3 * twice);
}

double length(const Polyline& points, bool closed) {
  double sum = 0;
  for (std::size_t i = 1; i < points.size(); ++i) sum += (points[i] - points[i - 1]).norm();
  if (closed && points.size() > 1) sum += (points.front() - points.back()).norm();
  return sum;
}

bool contains(const Polyline& closed, const Vec2& point) {
  bool inside = false;
  for (std::size_t i = 0, j = closed.size() - 1; i < closed.size(); j = i++) {
    const Vec2 &a = closed[i], &b = closed[j];
    if ((a.y() > point.y()) == (b.y() > point.y())) continue;
    if (point.x() < (b.x() - a.x()) * (point.y() - a.y()) / (b.y() - a.y()) + a.x()) inside = !inside;
  }
  return inside;
}

double distance_to(const Polyline& points, const Vec2& point, bool closed) {
  require_at_least("points of the line", points.size(), 1);
  double best = (points[0] - point).squaredNorm();
  const std::size_t segments = closed ? points.size() : points.size() - 1;
  for (std::size_t i = 0; i < segments; ++i) {
    const Vec2 at = nearest_on_segment(point, points[i], points[(i + 1) % points.size()]).point;
    best = std::min(best, (at - point).squaredNorm());
  }
  return std::sqrt(best);
}

Polyline resample_closed(const Polyline& closed, std::size_t count) {
  const double total = length(closed, true);
  require_at_least("count", count, 1);
  require_above("length of the outline, mm,", total, 0);
  Polyline out;
  out.reserve(count);
  std::size_t i = 0;
  double before = 0, segment = (closed[1 % closed.size()] - closed[0]).norm();
  for (std::size_t k = 0; k < count; ++k) {
    const double at = total * static_cast<double>(k) / static_cast<double>(count);
    while (before + segment < at && i + 1 < closed.size()) {
      before += segment;
      ++i;
      segment = (closed[(i + 1) % closed.size()] - closed[i]).norm();
    }
    const double t = segment > 0 ? std::clamp((at - before) / segment, 0.0, 1.0) : 0.0;
    out.push_back(closed[i] + t * (closed[(i + 1) % closed.size()] - closed[i]));
  }
  return out;
}

Vec2 Rigid2::operator*(const Vec2& p) const {
  const double c = std::cos(angle), s = std::sin(angle);
  return Vec2(c * p.x() - s * p.y(), s * p.x() + c * p.y()) + shift;
}

Rigid2 Rigid2::inverse() const {
  const Rigid2 turn_back{-angle, Vec2::Zero()};
  return {-angle, -(turn_back * shift)};
}

Rigid2 Rigid2::operator*(const Rigid2& first) const { return {angle + first.angle, *this * first.shift}; }

Polyline moved(const Rigid2& motion, Polyline points) {
  for (Vec2& p : points) p = motion * p;
  return points;
}

Rigid2 fit_rigid(const Polyline& source, const Polyline& target) {
  require_at_least("source points", source.size(), 1);
  require_equal("target points", target.size(), source.size());
  Vec2 mean_source = Vec2::Zero(), mean_target = Vec2::Zero();
  for (std::size_t i = 0; i < source.size(); ++i) {
    mean_source += source[i] / static_cast<double>(source.size());
    mean_target += target[i] / static_cast<double>(source.size());
  }
  double c = 0, s = 0;
  for (std::size_t i = 0; i < source.size(); ++i) {
    const Vec2 a = source[i] - mean_source, b = target[i] - mean_target;
    c += a.dot(b);
    s += cross(a, b);
  }
  Rigid2 fit{std::atan2(s, c), Vec2::Zero()};
  fit.shift = mean_target - fit * mean_source;
  return fit;
}

}  // namespace chalkfold::geometry
