// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/edge/outline_run.h"

namespace chalkfold::trace {

/// Of every run, texture_along, and whether there is enough of it to be worth a second look.
struct EdgeTextures {
  std::vector<std::vector<double>> along;
  bool count = false;
};

/// `scatter`, mm: of each run's single edge places about its outline. Where it is not below `calm`, fray or coarse grain moves the edge more than ribs do, and
/// the threads that run along it are elsewhere a centimetre on: there no texture is told of.
EdgeTextures find_textures(const std::vector<OutlineRun>& runs, const std::vector<std::vector<EdgeProfile>>& profiles,
                           const std::vector<double>& scatter, double calm);

/// Profiles of a run (linear light) without the texture that runs along its edge. `outline`: the edge as found with it, a point for each of the base.
std::vector<EdgeProfile> without_texture(const OutlineRun& run, const std::vector<EdgeProfile>& profiles,
                                         const std::vector<double>& along, const Polyline& outline,
                                         const BoundarySampler& sampler, const OutlineFitOptions& o);

}  // namespace chalkfold::trace
