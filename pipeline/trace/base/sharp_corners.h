// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::trace {

/// A sharp corner of a closed boundary sampled at even steps.
struct SharpCorner {
  /// index along the boundary, fractional
  double at = 0;
  /// where the two sides meet, carried on
  Vec2 point;
  /// unit directions of the two sides at the corner, along the way
  Vec2 before, after;
  /// rad, from before to after
  double turn = 0;
  /// mm, from the point to the boundary as given
  double cut = 0;
};

/// Where is the boundary broken, so that no fit may run across? (Where one edge ends and the next begins, however rounded, is another
/// question: geometry::find_edge_corners.) Local maxima of the turn between straight fits to the `arm` mm before and after, of at least `least_turn` (rad), where
/// quadratic fits to both sides, carried on to the corner, still turn by two thirds of that (on an arc, however tight, they run into each other). How sharp the
/// tip itself is, the caller must look up in the picture. `spacing` is the mean step, mm.
std::vector<SharpCorner> find_sharp_corners(const Polyline& closed, double spacing, double arm, double least_turn);

}  // namespace chalkfold::trace
