// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <vector>

#include "pipeline/trace/base/local_fit.h"
#include "pipeline/trace/edge/boundary_sampler.h"
#include "pipeline/trace/edge/edge_profile.h"
#include "pipeline/trace/edge/outline_fit_options.h"

namespace chalkfold::trace {

/// A stretch of boundary between two corners, or the whole of it when there is none (then it closes on itself).
struct OutlineRun {
  bool closed = false;
  /// mm along the base
  double total = 0;
  /// even steps
  Polyline base, normals;
  /// mm
  std::vector<double> along;
  /// edge places found, mm from the base along the normal
  std::vector<LocalSample> edges;
};

/// The followed boundary as runs between its corners; a corner that it cut short by more than fray or blur would, or that is table, is none.
std::vector<OutlineRun> make_runs(const BoundarySampler& sampler, const Polyline& followed);

/// Edge profiles across a run, one for each point of its base, with tone weights set.
std::vector<EdgeProfile> sample_run(const OutlineRun& run, const BoundarySampler& sampler);

/// Intersection of the lines through two ends, or the middle between them when they are nearly parallel or meet far off.
Vec2 corner_between(const Polyline& before, const Polyline& after);

/// Cuts a run's ends back to where they do not pass the corner.
void trim_to_corner(Polyline& points, std::vector<double>& sigma, const Vec2& corner, bool at_end);

}  // namespace chalkfold::trace
