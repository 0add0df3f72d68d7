// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <vector>

#include "pipeline/geometry/curve_chain.h"

namespace chalkfold::geometry {

struct CubicMerge {
  Curve curve;
  /// something was merged
  bool any = false;
};

/// Arcs in a row replaced by one cubic each, the longest rows first, where `good` says yes to the distances of all points
/// from the whole new curve. A cubic keeps the ends and tangents of the row it stands for; its two handles come by least
/// squares (P. J. Schneider, "An algorithm for automatically fitting digitized curves", 1990, with Gauss-Newton on the distances).
/// Precondition: each point has a weight.
CubicMerge merge_arcs(const Curve& curve, const WeightedPoints& points,
                      const std::function<bool(const std::vector<double>&)>& good);

/// Distance of each point to the curve, mm, left of the way of travel positive. Points are taken to lie in order.
/// Precondition: the curve has a segment.
std::vector<double> distances_to_curve(const Curve& curve, const Polyline& points);

}  // namespace chalkfold::geometry
