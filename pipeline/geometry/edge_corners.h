// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::geometry {

/// What find_edge_corners takes for a corner.
struct EdgeCornerOptions {
  /// mm, far end of the straight fits on either side
  double arm = 13;
  /// mm, their near end: a corner may be blunt or frayed by as much
  double gap = 3;
  /// rad (25 deg)
  double least_turn = 0.44;
  /// mm; a rounding with more is part of an edge
  double largest_radius = 8;
  /// mm, for a second look where the turn between the long fits peaks without being sharp: the end of a narrow strip
  double short_arm = 7;
  /// mm, between corners; of nearer ones the sharper stays
  double apart = 10;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const EdgeCornerOptions& options);

/// A place where the outline turns within a few millimetres.
struct OutlineCorner {
  /// mm, arc length from the outline's first point
  double along = 0;
  /// where the two sides meet, carried on
  Vec2 point = Vec2::Zero();
  /// rad, positive to the left
  double turn = 0;
};

/// Where does one edge of a closed outline end and the next begin? In order along it. A corner may be blunt or rounded, as worn or cut
/// ones are; one that a fit must stop at is another question (trace::find_sharp_corners). Straight lines are fitted (least squares, reweighted by Huber's function) to the
/// outline from `gap` to `arm` before and after every millimetre; where the turn between them peaks, the distance from their
/// crossing to the outline tells the radius that it is rounded by: d = r (1 / cos(turn / 2) - 1). Where that is no corner but turns by
/// more than a radian, shorter fits look again.
/// Precondition: at least 3 points. An outline shorter than four arms has no corners.
std::vector<OutlineCorner> find_edge_corners(const Polyline& outline, const EdgeCornerOptions& options = {});

}  // namespace chalkfold::geometry
