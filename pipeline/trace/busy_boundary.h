// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/trace/boundary_sampler.h"

namespace chalkfold {

struct BusyBoundaryOptions {
  double search = 8;   ///< mm either side of the coarse contour
  double context = 3;  ///< mm beyond, which are table
  double reach = 18;   ///< mm along the boundary either side: a check's cell of the table's colour is shorter
  double spacing = 1;  ///< mm along the boundary
  double step = 0.25;  ///< mm across it
};

/// Follows the boundary of a panel some of whose pattern is of the table's own colour (counter-clockwise; outward is on the right): on every line
/// across, the outermost place that is not table; of neighbouring lines, an upper quantile, since where the pattern's table-coloured part meets the edge the line
/// says too little and never too much. Good to about a millimetre.
Polyline follow_busy_boundary(const BoundarySampler& sampler, const Polyline& coarse,
                              const BusyBoundaryOptions& options = {});

}  // namespace chalkfold
