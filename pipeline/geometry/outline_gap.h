// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/geometry/point.h"

namespace chalkfold::geometry {

/// Least distance between two closed polylines' lines, mm; 0 when they cross. One inside the other has the distance of the lines:
/// ask overlap_area (regions.h) too. Precondition: at least one point each.
double gap_between(const Polyline& a, const Polyline& b);

/// A closed outline of few points, counter-clockwise, that holds everything up to `by` mm from the closed polyline's inside, and
/// nothing further than about `by + 2 * slack` but at sharp corners, whose mitres reach up to 2 (by + slack). Holes that the growing
/// closes are gone. Method: Clipper's offset, then D. H. Douglas, T. K. Peucker, "Algorithms for the reduction of the number of points
/// required to represent a digitized line", 1973, within the slack. Precondition: three points or more, by >= 0, slack > 0.
Polyline grown_outline(const Polyline& closed, double by, double slack);

}  // namespace chalkfold::geometry
