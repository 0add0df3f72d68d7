// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/closed_outline.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "pipeline/common/require.h"
#include "pipeline/geometry/segment.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {

ClosedOutline::ClosedOutline(Polyline points) : points_(std::move(points)), stations_{0} {
  require_at_least("points of the closed outline", points_.size(), 3);
  for (std::size_t i = 0; i < points_.size(); ++i)
    stations_.push_back(stations_.back() + (points_[(i + 1) % points_.size()] - points_[i]).norm());
}

void ClosedOutline::look_at(std::size_t segment, const Vec2& p, Found& found) const {
  const Vec2 &a = points_[segment], &b = points_[(segment + 1) % points_.size()];
  if ((b - a).squaredNorm() <= 0) return;  // a point given twice: the stretch before it ends there
  const SegmentPlace near = nearest_on_segment(p, a, b);
  const double away = (near.point - p).squaredNorm();
  if (away < found.least) found = {away, near.share, segment};
}

OutlinePlace ClosedOutline::place(std::size_t segment, double share, const Vec2& p) const {
  const Vec2& a = points_[segment];
  const Vec2 d = points_[(segment + 1) % points_.size()] - a;
  OutlinePlace out;
  out.point = a + share * d;
  out.outward = Vec2(d.y(), -d.x()).normalized();
  out.along = stations_[segment] + share * d.norm();
  out.away = out.outward.dot(p - out.point);
  out.segment = segment;
  return out;
}

OutlinePlace ClosedOutline::nearest(const Vec2& p) const {
  constexpr double slack = 1e-6;  // mm, well above what rounding does to a distance
  double to_point = 1e300;
  for (const Vec2& q : points_) to_point = std::min(to_point, (p - q).squaredNorm());
  to_point = std::sqrt(to_point);
  Found found;
  for (std::size_t i = 0; i < points_.size(); ++i) {
    // The outline is no farther than its nearest point, and a segment no nearer than its start less its length: nearly all need no
    // closer look.
    const double reach = to_point + (stations_[i + 1] - stations_[i]) + slack;
    if ((p - points_[i]).squaredNorm() <= reach * reach) look_at(i, p, found);
  }
  return place(found.segment, found.share, p);
}

OutlinePlace ClosedOutline::nearest_about(const Vec2& p, const OutlinePlace& before, double reach) const {
  const std::size_t n = points_.size();
  require_index("segment of the place before", before.segment, n);
  Found found;
  look_at(before.segment, p, found);
  double walked = 0;
  for (std::size_t k = 1, i = before.segment; k < n && walked < reach; ++k) {
    i = (i + 1) % n;
    look_at(i, p, found);
    walked += stations_[i + 1] - stations_[i];
  }
  walked = 0;
  for (std::size_t k = 1, i = before.segment; k < n && walked < reach; ++k) {
    i = (i + n - 1) % n;
    look_at(i, p, found);
    walked += stations_[i + 1] - stations_[i];
  }
  return place(found.segment, found.share, p);
}

OutlinePlace ClosedOutline::at(double along) const {
  along = std::fmod(along, length());
  if (along < 0) along += length();
  const auto next = std::upper_bound(stations_.begin(), stations_.end(), along);
  const auto segment =
      std::min(static_cast<std::size_t>(std::max<std::ptrdiff_t>(next - stations_.begin(), 1)) - 1, points_.size() - 1);
  const double whole = stations_[segment + 1] - stations_[segment],
               share = whole > 0 ? (along - stations_[segment]) / whole : 0;
  OutlinePlace out = place(segment, share, points_[segment]);
  out.along = along;  // to the last digit
  out.away = 0;
  return out;
}

std::vector<OutlinePlace> ClosedOutline::places(std::size_t count) const {
  std::vector<OutlinePlace> out;
  out.reserve(count);
  for (std::size_t i = 0; i < count; ++i)
    out.push_back(at(length() * (static_cast<double>(i) + 0.5) / static_cast<double>(count)));
  return out;
}

std::optional<OutlinePlace> ClosedOutline::crossing(const Vec2& from, const Vec2& direction, double reach) const {
  std::optional<OutlinePlace> best;
  double least = reach;
  for (std::size_t i = 0; i < points_.size(); ++i) {
    const Vec2 d = points_[(i + 1) % points_.size()] - points_[i];
    const double det = cross(direction, d);
    if (std::abs(det) < 1e-12) continue;
    const Vec2 off = points_[i] - from;
    const double ahead = cross(off, d) / det, share = cross(off, direction) / det;
    if (share < 0 || share > 1 || ahead < 0 || ahead > least) continue;
    least = ahead;
    best = place(i, share, from);
  }
  if (best) best->away = 0;
  return best;
}

Vec2 ClosedOutline::outward_over(double along, double arm) const {
  const Vec2 t = (at(along + arm).point - at(along - arm).point).normalized();
  return {t.y(), -t.x()};
}

double ClosedOutline::apart(double along_a, double along_b) const {
  const double d = std::fmod(std::abs(along_a - along_b), length());
  return std::min(d, length() - d);
}

}  // namespace chalkfold::geometry
