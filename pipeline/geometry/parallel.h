// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/geometry/curve.h"

namespace chalkfold::geometry {

/// The parallel of a cubic at `distance` mm to the right of the way of travel, by arcs tangent to each other (biarcs: K. M. Bolton,
/// "Biarc curves", 1975), or by cubics that keep its end points, tangents and end speeds, the cubic being halved until the parallel
/// departs by no more than `tolerance` mm. Where its radius is smaller than a distance on its inside, the parallel has a loop.
/// Precondition: a cubic, tolerance > 0.
Curve cubic_parallel(const CurveSegment& cubic, double distance, double tolerance, bool as_cubics);

/// Least radius of a cubic where it bends to the given side, mm (sampled at 64 places); infinite when it never does.
double least_radius(const CurveSegment& cubic, bool to_the_left);

}  // namespace chalkfold::geometry
