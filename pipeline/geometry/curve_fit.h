// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/geometry/curve_chain.h"

namespace chalkfold::geometry {

/// How closely fit_curve follows its points, and what it keeps at the ends.
struct CurveFitOptions {
  /// mm, largest departure of the curve from the points' running mean, where they are sure; see fit_curve
  double tolerance = 0.3;
  /// mm, of that running mean: a fibre or a nick is shorter
  double window = 12;
  /// mm, a point counts as no further off than this
  double clip = 1.5;
  /// mm, of an arc: what bends more within an edge is wear, or a corner
  double least_radius = 6;
  /// mm, over which points are averaged for the fit
  double bin = 3.5;
  std::size_t most_bins = 400;
  /// conditions, held exactly
  ChainEnd start, end;
  /// a chain that fits the same points already, under other conditions: tried first
  std::optional<CurveChain> like;
  /// the run ends where it starts, without a corner; start and end are then not heeded
  bool closed = false;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const CurveFitOptions& options);

/// A curve with its distance from what it was fitted to.
struct CurveFit {
  /// from the run's first point to its last; closed: back to its start
  Curve curve;
  /// mm, of the points' running mean
  double largest_departure = 0;
  /// mm, of the points themselves
  double rms = 0;
  bool within_tolerance = false;
  /// before cubics took the place of arcs
  CurveChain chain;
};

/// The fewest lines, arcs and cubics, tangent to each other, that stay within the tolerance of points in order. Points weigh
/// 1 / (sigma^2 + tolerance^2 / 9). Where their median sigma is larger than the noise seen from point to point, the tolerance in
/// force is hypot(tolerance, 2 sigma): a shape that the measurement is not sure of is not followed. Robust: outliers of any number below half do not draw the curve.
/// Method: breaks by dynamic programming (curve_split.h), all parts together by constrained least squares (curve_chain.h),
/// parts taken away while the rest can do without; then arcs in a row become a cubic where one does.
/// Precondition: points.size() == sigma.size() >= 3, and the run is longer than 0.
CurveFit fit_curve(const Polyline& points, const std::vector<double>& sigma, const CurveFitOptions& options = {});

/// Noise of the points, mm: spread across the run, from third differences, which a smooth bend does not feel (robust).
double noise_of(const Polyline& points);

}  // namespace chalkfold::geometry
