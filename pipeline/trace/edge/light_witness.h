// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/edge/light.h"
#include "pipeline/trace/edge/outline_run.h"
#include "pipeline/trace/edge/wall.h"

namespace chalkfold::trace {

/// An averaged stretch, and where on its run it lies.
struct PlacedWitness {
  /// mm
  double along = 0;
  LightWitness heard;
};

/// What is known of an edge before the light is learnt: thickness, blur, and how much of the wall the camera sees.
EdgeModel bare_model(const BoundarySampler& sampler, const Vec2& at, const Vec2& normal, const OutlineFitOptions& o);

/// Averaged stretches of one run, for learning the light.
void hear_witnesses(const OutlineRun& run, const std::vector<EdgeProfile>& profiles, const BoundarySampler& sampler,
                    const OutlineFitOptions& o, std::vector<PlacedWitness>& witnesses);

/// What the edge of one stretch of a run owes to the model of shadow and wall.
struct Correction {
  /// mm
  double along = 0;
  /// mm, from where a bare step would have it: what such a correction may itself be off by is a share of it
  double moved = 0;
  /// mm, 1 standard deviation: how far off the edge lies when the step beside it is the panel's limit and no wall shows
  double rival = 0;
};

/// A wall of the table's colour, or the table in shadow, looks like none: the panel's limit is then the visible step, or a wall's width inside it, and the
/// profile says which only by how well either explains it.
std::vector<Correction> corrections(const std::vector<PlacedWitness>& witnesses, const TableLight& light,
                                    const WallColours& walls);

}  // namespace chalkfold::trace
