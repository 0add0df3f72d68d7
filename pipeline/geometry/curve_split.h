// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/curve_chain.h"

namespace chalkfold::geometry {

/// What split_curve may leave, and what it takes for a part.
struct SplitOptions {
  /// mm, that the running mean of the distances may reach
  double tolerance = 0.3;
  /// mm, of the running mean
  double window = 12;
  /// mm, of one point
  double noise = 0;
  /// mm, distances count as no more than this: a fibre is no shape
  double clip = 1.5;
  /// rad, between the tangents of neighbours that are fitted each alone
  double largest_kink = 0.3;
  /// mm, of a part
  double least_length = 5;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const SplitOptions& options);

/// The fewest lines and arcs that follow the points, as a first guess for fit_chain: dynamic programming over breaks, each part
/// fitted alone (lines by their principal axis; arcs by V. Pratt, "Direct least-squares fitting of algebraic surfaces", 1987, in
/// Taubin's form), neighbours nearly tangent, never two lines in turn; of equally many parts the closest wins.
/// Precondition: at least 3 points, in order, each with a weight. Always returns at least one part.
CurveChain split_curve(const WeightedPoints& points, const SplitOptions& options);

/// Whether an arc or a line, fitted alone to the points first..last, stays within the tolerance. Precondition: first + 2 <= last,
/// a point.
bool one_arc_does(const WeightedPoints& points, std::size_t first, std::size_t last, const SplitOptions& options);

}  // namespace chalkfold::geometry
