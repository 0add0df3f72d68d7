// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/closed_outline.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::geometry {

ClosedOutline::ClosedOutline(Polyline points) : points_(std::move(points)), stations_{0} {
  require_at_least("points of the closed outline", points_.size(), 3);
  for (std::size_t i = 0; i < points_.size(); ++i)
    stations_.push_back(stations_.back() + (points_[(i + 1) % points_.size()] - points_[i]).norm());
  require_above("area of the closed outline, mm2,", signed_area(points_), 0);
}

void ClosedOutline::look_at(std::size_t segment, const Vec2& p, double& least, double& part, std::size_t& best) const {
  const Vec2& a = points_[segment];
  const Vec2 d = points_[(segment + 1) % points_.size()] - a, v = p - a;
  if (d.squaredNorm() <= 0) return;  // a point given twice: the stretch before it ends there
  const double t = std::clamp(d.dot(v) / std::max(d.squaredNorm(), 1e-18), 0.0, 1.0);
  const double away = (v - t * d).squaredNorm();
  if (away >= least) return;
  least = away;
  part = t;
  best = segment;
}

OutlinePlace ClosedOutline::place(std::size_t segment, double part, const Vec2& p) const {
  const Vec2& a = points_[segment];
  const Vec2 d = points_[(segment + 1) % points_.size()] - a;
  OutlinePlace out;
  out.point = a + part * d;
  out.outward = Vec2(d.y(), -d.x()).normalized();
  out.along = stations_[segment] + part * d.norm();
  out.away = out.outward.dot(p - out.point);
  out.segment = segment;
  return out;
}

OutlinePlace ClosedOutline::nearest(const Vec2& p) const {
  double least = 1e300, part = 0;
  std::size_t best = 0;
  for (std::size_t i = 0; i < points_.size(); ++i) look_at(i, p, least, part, best);
  return place(best, part, p);
}

OutlinePlace ClosedOutline::nearest_about(const Vec2& p, const OutlinePlace& before, double reach) const {
  const std::size_t n = points_.size();
  require_index("segment of the place before", before.segment, n);
  double least = 1e300, part = 0;
  std::size_t best = before.segment;
  look_at(best, p, least, part, best);
  double walked = 0;
  for (std::size_t k = 1, i = before.segment; k < n && walked < reach; ++k) {
    i = (i + 1) % n;
    look_at(i, p, least, part, best);
    walked += stations_[i + 1] - stations_[i];
  }
  walked = 0;
  for (std::size_t k = 1, i = before.segment; k < n && walked < reach; ++k) {
    i = (i + n - 1) % n;
    look_at(i, p, least, part, best);
    walked += stations_[i + 1] - stations_[i];
  }
  return place(best, part, p);
}

OutlinePlace ClosedOutline::at(double along) const {
  along = std::fmod(along, length());
  if (along < 0) along += length();
  const auto next = std::upper_bound(stations_.begin(), stations_.end(), along);
  const auto segment =
      std::min(static_cast<std::size_t>(std::max<std::ptrdiff_t>(next - stations_.begin(), 1)) - 1, points_.size() - 1);
  const double whole = stations_[segment + 1] - stations_[segment];
  const double part = whole > 0 ? (along - stations_[segment]) / whole : 0;
  return place(segment, part, points_[segment] + part * (points_[(segment + 1) % points_.size()] - points_[segment]));
}

std::vector<OutlinePlace> ClosedOutline::places(std::size_t count) const {
  std::vector<OutlinePlace> out;
  out.reserve(count);
  for (std::size_t i = 0; i < count; ++i)
    out.push_back(at(length() * (static_cast<double>(i) + 0.5) / static_cast<double>(count)));
  return out;
}

}  // namespace chalkfold::geometry
