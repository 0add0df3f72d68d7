// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/outline_run.h"

namespace chalkfold {

/// Of every run, texture_along, and whether it is worth a second look.
struct EdgeTextures {
  std::vector<std::vector<double>> along;
  bool count = false;
};

EdgeTextures find_textures(const std::vector<OutlineRun>& runs, const std::vector<std::vector<EdgeProfile>>& profiles);

/// Profiles of a run (linear light) without the texture that runs along its edge. `outline`: the edge as found with it, a point for each of the base.
std::vector<EdgeProfile> without_texture(const OutlineRun& run, const std::vector<EdgeProfile>& profiles,
                                         const std::vector<double>& along, const Polyline& outline,
                                         const BoundarySampler& sampler, const OutlineFitOptions& o);

}  // namespace chalkfold
