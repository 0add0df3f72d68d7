// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/trace/light.h"

namespace chalkfold {

/// What the panel's cut side looks like, by the way it faces: one material, lit from one side.
class WallColours {
 public:
  /// Colour (in the profiles' units) of a wall that faces along `outward`; nothing when none like it was seen well.
  std::optional<Vec3> facing(const Vec2& outward) const;

  struct Seen {
    Vec2 outward;
    Vec3 colour;
    double weight;
  };
  std::vector<Seen> seen;
};

/// Learns the side wall's colour from averaged stretches of boundary, their models with the shadow set. A wall of a pixel or so hides in the blur of a single
/// place: taken for panel or for table, it moves the edge by its width. Averaged over some centimetres, its own step shows, and stretches that face
/// alike share one colour. Where no colour explains the stretches clearly better than the panel's own, none is given.
WallColours learn_walls(const std::vector<LightWitness>& witnesses);

}  // namespace chalkfold
