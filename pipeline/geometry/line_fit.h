// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/geometry/point.h"

namespace chalkfold::geometry {

/// A straight line fitted to points: total least squares.
struct FittedLine {
  /// (weighted) mean of the points
  Vec2 middle = Vec2::Zero();
  /// unit, from the first point towards the last
  Vec2 direction = Vec2::UnitX();
  /// mm along `direction` from `middle`: the points' extent
  double from = 0, to = 0;
  /// mm, of the points about it
  double rms = 0;
  Vec2 at(double along) const { return middle + along * direction; }
  double length() const { return to - from; }
};

/// Precondition: at least two distinct points.
FittedLine fit_line(const Polyline& points);

/// The same reweighted by Huber's function, its limit twice the median departure and no less than `least_limit` mm, in four rounds:
/// a fibre beside the line turns it little. Precondition: at least two distinct points, least_limit > 0.
FittedLine fit_line_robustly(const Polyline& points, double least_limit);

/// Direction, rad, in which second moments are largest: half the angle of (xx - yy, 2 xy).
double principal_angle(double xx, double xy, double yy);

}  // namespace chalkfold::geometry
