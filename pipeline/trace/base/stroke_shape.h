// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::trace {

/// A line cut into stretches that stay within `tolerance` mm of their chords, in order; each begins with the last point of the one before.
/// Method: D. H. Douglas, T. K. Peucker, "Algorithms for the reduction of the number of points required to represent a digitized line", 1973.
std::vector<Polyline> straight_runs(const Polyline& points, double tolerance);

/// The longest of them: strokes end in a hook, or run on into the next one. Precondition: at least one point.
Polyline longest_straight_run(const Polyline& points, double tolerance);

/// Points smoothed by a moving mean over 2 reach + 1 points; ends keep their place along the line.
Polyline smoothed(const Polyline& points, std::size_t reach);

}  // namespace chalkfold::trace
