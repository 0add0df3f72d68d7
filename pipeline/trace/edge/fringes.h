// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/trace/edge/boundary_sampler.h"

namespace chalkfold::trace {

struct FringeOptions {
  /// mm of boundary either side, over which the course is read
  double arm = 12;
  /// mm along the course: the widest tuft
  double most_mouth = 36;
  /// mm that it stands off the course; what is less, the outline's own fit irons out
  double least_height = 1.0;
  /// mm; what is more is another thing than a tuft
  double most_height = 9;
  /// mm, rms of the arms about their course: a frayed edge's is less, a corner's and a step's more
  double most_rough = 0.45;
  /// rad between the courses before and after: a corner's turn is more
  double most_turn = 0.45;
  /// share of the panel's colour over the tuft, above which it is solid: a tab, part of the panel
  double full = 0.78;
};

/// Leads a followed boundary (counter-clockwise for outlines; outward is on the right) straight past tufts: places where it leaves its course outward and
/// comes back to it round a bundle of threads. Course: one parabola through the boundary before and after, so that no corner is taken for a tuft.
/// A tuft lets the table through where a tab is solid; that tells them apart, and nothing is cut off a tab.
Polyline without_fringes(const BoundarySampler& sampler, const Polyline& followed, const FringeOptions& options = {});

}  // namespace chalkfold::trace
