// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "pipeline/geometry/polygon.h"

namespace chalkfold::draft {

/// An outline to be laid and the angles that it may lie at.
struct NestItem {
  /// closed, counter-clockwise, few points, with the room that it wants around it, mm
  Polyline outline;
  /// rad, one or more
  std::vector<double> turns;
};

/// What a place costs: mm of roll that it adds, and in the second place how far along and across it lies.
struct NestWeights {
  /// of the item's near end and near side, against 1 for the roll's length
  double along = 0.1, across = 0.02;
};

/// Lays outlines one after another, in `order`, on a strip from x = 0 (its beginning) that is `width` wide (y from 0). Every
/// outline goes where it costs least of the places at which it touches those before it.
/// Method: the library libnest2d, its placer by no-fit polygons, with our own no-fit polygons for hollow outlines (Minkowski
/// differences by Clipper), because it has those of convex ones only. One thread, no chance: the same places each time.
/// Returns the motion strip_from_outline of each item, in the order of `items`; none where no place was found. What comes back is to
/// be checked, not believed: the library counts in whole micrometres and gives no promise.
/// This file and its source are C++17, which the library's headers need, and are a target of their own.
std::vector<std::optional<geometry::Rigid2>> nested_places(const std::vector<NestItem>& items,
                                                           const std::vector<std::size_t>& order, double width,
                                                           const NestWeights& weights);

}  // namespace chalkfold::draft
