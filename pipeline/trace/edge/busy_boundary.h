// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/trace/edge/boundary_sampler.h"

namespace chalkfold::trace {

struct BusyBoundaryOptions {
  /// mm either side of the coarse contour
  double search = 8;
  /// mm beyond, which are table
  double context = 3;
  /// mm along the boundary either side: a check's cell of the table's colour is shorter
  double reach = 18;
  /// mm along the boundary
  double spacing = 1;
  /// mm across it
  double step = 0.25;
};

/// Follows the boundary of a panel some of whose pattern is of the table's own colour (counter-clockwise; outward is on the right): on every line
/// across, the outermost place that is not table; of neighbouring lines, an upper quantile, since where the pattern's table-coloured part meets the edge the line
/// says too little and never too much. Good to about a millimetre.
Polyline follow_busy_boundary(const BoundarySampler& sampler, const Polyline& coarse,
                              const BusyBoundaryOptions& options = {});

}  // namespace chalkfold::trace
