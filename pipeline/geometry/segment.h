// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cstddef>

#include "pipeline/geometry/point.h"

namespace chalkfold::geometry {

/// The place on a straight stretch nearest to a point.
struct SegmentPlace {
  /// 0 at the stretch's start, 1 at its end; 0 when it has no length
  double share = 0;
  Vec2 point = Vec2::Zero();
  /// from there to the point that was asked for
  Vec2 offset = Vec2::Zero();
};

/// On the stretch from a to b.
inline SegmentPlace nearest_on_segment(const Vec2& p, const Vec2& a, const Vec2& b) {
  const Vec2 d = b - a, from_start = p - a;
  const double square = d.squaredNorm(), share = square > 0 ? std::clamp(d.dot(from_start) / square, 0.0, 1.0) : 0.0;
  return {share, a + share * d, from_start - share * d};
}

/// mm.
inline double distance_to_segment(const Vec2& p, const Vec2& a, const Vec2& b) {
  return (nearest_on_segment(p, a, b).point - p).norm();
}

/// The place on a polyline nearest to a point; of several, the first.
struct LinePlace {
  Vec2 point = Vec2::Zero();
  /// mm from the line's first point
  double along = 0;
  /// mm from the point that was asked for
  double distance = 0;
  /// it lies between this point of the line and the next
  std::size_t segment = 0;
};

/// On all stretches of the line, the last to the first point's too when it is closed. Precondition: at least one point.
LinePlace nearest_on_line(const Polyline& line, const Vec2& p, bool closed);

}  // namespace chalkfold::geometry
