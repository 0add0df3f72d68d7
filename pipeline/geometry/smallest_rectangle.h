// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/geometry/point.h"

namespace chalkfold::geometry {

/// A rectangle that may lie turned. mm.
struct TurnedRectangle {
  Vec2 centre = Vec2::Zero();
  /// unit, of the longer side
  Vec2 along = Vec2::UnitX();
  /// length >= width
  double length = 0, width = 0;
};

/// Convex hull, counter-clockwise, without points on its sides (A. M. Andrew, "Another efficient algorithm for convex hulls in two
/// dimensions", 1979).
Polyline convex_hull(Polyline points);

/// The rectangle of least area around the points: one of its sides lies on a side of the hull (H. Freeman and R. Shapira,
/// "Determining the minimum-area encasing rectangle for an arbitrary closed curve", 1975). Precondition: three points that are not in
/// line.
TurnedRectangle smallest_rectangle(const Polyline& points);

}  // namespace chalkfold::geometry
