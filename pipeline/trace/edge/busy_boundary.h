// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/trace/edge/boundary_sampler.h"

namespace chalkfold::trace {

/// Follows the boundary of a panel some of whose pattern is of the table's own colour (counter-clockwise; outward is on the right): on every line
/// across, the outermost place that is not table; of neighbouring lines, an upper quantile, since where the pattern's table-coloured part meets the edge the line
/// says too little and never too much. Good to about a millimetre.
Polyline follow_busy_boundary(const BoundarySampler& sampler, const Polyline& coarse);

}  // namespace chalkfold::trace
