// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/geometry/curve.h"

namespace chalkfold::geometry {

/// What a chain must keep at one of its ends.
struct ChainEnd {
  /// mm
  std::optional<Vec2> point;
  /// rad, of travel
  std::optional<double> direction;
  /// With `point`: only the part across this unit vector is held, so that the end slides along it.
  std::optional<Vec2> slides;
};

/// Lines and arcs end to end, tangent to each other: a start, a direction, and a length and a turn for each part.
struct CurveChain {
  struct Part {
    bool straight = true;
    /// mm
    double length = 0;
    /// rad, positive to the left; 0 for a line
    double turn = 0;
    /// first of the followed points that is this part's; 0 for the first part
    std::size_t from_point = 0;
  };
  Vec2 start = Vec2::Zero();
  /// rad
  double direction = 0;
  std::vector<Part> parts;

  struct Node {
    Vec2 point = Vec2::Zero();
    double direction = 0;
  };
  /// parts + 1
  std::vector<Node> nodes() const;
  Curve curve() const;
};

/// Points to be followed, in order, each with a weight (1 / mm2).
struct WeightedPoints {
  Polyline points;
  std::vector<double> weight;
};

/// Signed distances of the points from the chain, mm, left of the way of travel positive. Points are taken to lie in order.
/// Precondition: the chain has a part.
std::vector<double> distances_from(const CurveChain& chain, const Polyline& points);

/// How fit_chain goes about it, and what it keeps at the ends.
struct ChainFitOptions {
  ChainEnd start, end;
  /// end meets start, tangent
  bool closed = false;
  int most_iterations = 30;
  /// mm, residuals below it keep some weight: a stretch that the chain does not yet follow is no outlier
  double least_outlier = 1.25;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const ChainFitOptions& options);

/// Least squares of the points' distances under the ends' conditions, held exactly: first with every point kept to the part that
/// the guess gives it to, then robust (Tukey's biweight, its scale from the median), each point to the part it lies beside: Gauss-Newton with Levenberg's damping and Lagrange multipliers for the conditions.
/// Precondition: parts and points are there, weights positive. Returns nothing when it comes to no finite chain with every length positive.
std::optional<CurveChain> fit_chain(const CurveChain& first_guess, const WeightedPoints& points,
                                    const ChainFitOptions& options);

}  // namespace chalkfold::geometry
