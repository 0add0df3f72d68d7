// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/geometry/point.h"

namespace chalkfold::geometry {

/// Axis-parallel box. Empty (min > max) when default constructed.
struct Box {
  Vec2 min = Vec2::Constant(1e300);
  Vec2 max = Vec2::Constant(-1e300);
  void add(const Vec2& p) {
    min = min.cwiseMin(p);
    max = max.cwiseMax(p);
  }
  Vec2 size() const { return max - min; }
  Vec2 centre() const { return 0.5 * (min + max); }
};

Box bounding_box(const Polyline& points);

/// Area of a closed polyline, mm2; positive when its points run counter-clockwise with y up (shoelace formula).
double signed_area(const Polyline& closed);

/// Area centroid of a closed polyline; its mean point when the area is zero. Precondition: at least one point.
Vec2 centroid(const Polyline& closed);

/// Length of a polyline, with the last-to-first stretch when closed.
double length(const Polyline& points, bool closed);

/// Even-odd rule; points on the boundary may go either way.
bool contains(const Polyline& closed, const Vec2& point);

/// Least distance from a point to a polyline's segments. Precondition: at least one point.
double distance_to(const Polyline& points, const Vec2& point, bool closed);

/// `count` points at equal arc length along a closed polyline, the first on its first point.
/// Precondition: at least two distinct points and count >= 1.
Polyline resample_closed(const Polyline& closed, std::size_t count);

/// Rigid motion target_from_source of the plane.
struct Rigid2 {
  /// rad, counter-clockwise with y up
  double angle = 0;
  /// applied after the rotation
  Vec2 shift = Vec2::Zero();
  Vec2 operator*(const Vec2& p) const;
  Rigid2 inverse() const;
  /// this after first
  Rigid2 operator*(const Rigid2& first) const;
};

/// Every point moved.
Polyline moved(const Rigid2& motion, Polyline points);

/// Least-squares rigid motion (no scale, no reflection) of source[i] onto target[i].
/// Method: S. Umeyama, "Least-squares estimation of transformation parameters between two point patterns", 1991, in 2-D.
/// Precondition: equal sizes, at least one pair (with one pair the angle is 0).
Rigid2 fit_rigid(const Polyline& source, const Polyline& target);

/// The one place where an up-pointing y becomes a down-pointing one. `top` is the y (up) that lands on 0 (down).
inline Vec2 y_down_from_y_up(const Vec2& p, double top) { return {p.x(), top - p.y()}; }

}  // namespace chalkfold::geometry
