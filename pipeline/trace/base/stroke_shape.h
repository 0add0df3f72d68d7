// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/geometry/polygon.h"

namespace chalkfold::trace {

/// A straight line fitted to points: total least squares.
struct FittedLine {
  /// mean of the points
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

/// A line cut into stretches that stay within `tolerance` mm of their chords, in order; each begins with the last point of the one before.
/// Method: D. H. Douglas, T. K. Peucker, "Algorithms for the reduction of the number of points required to represent a digitized line", 1973.
std::vector<Polyline> straight_runs(const Polyline& points, double tolerance);

/// The longest of them: strokes end in a hook, or run on into the next one. Precondition: at least one point.
Polyline longest_straight_run(const Polyline& points, double tolerance);

/// Points smoothed by a moving mean over 2 reach + 1 points; ends keep their place along the line.
Polyline smoothed(const Polyline& points, std::size_t reach);

}  // namespace chalkfold::trace
