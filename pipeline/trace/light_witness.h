// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/light.h"
#include "pipeline/trace/outline_run.h"
#include "pipeline/trace/wall.h"

namespace chalkfold {

/// An averaged stretch, and where on its run it lies.
struct PlacedWitness {
  double along = 0;  ///< mm
  LightWitness heard;
};

/// What is known of an edge before the light is learnt: thickness, blur, and how much of the wall the camera sees.
EdgeModel bare_model(const BoundarySampler& sampler, const Vec2& at, const Vec2& normal, const OutlineFitOptions& o);

/// Averaged stretches of one run, for learning the light.
void hear_witnesses(const OutlineRun& run, const std::vector<EdgeProfile>& profiles, const BoundarySampler& sampler,
                    const OutlineFitOptions& o, std::vector<PlacedWitness>& witnesses);

/// How far shadow and wall moved the edge of each stretch of a run against a bare step: what such a correction may itself be off by is a share of it.
std::vector<LocalSample> corrections(const std::vector<PlacedWitness>& witnesses, const TableLight& light,
                                     const WallColours& walls);

}  // namespace chalkfold
