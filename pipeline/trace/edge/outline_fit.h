// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>

#include "pipeline/panel/panel.h"
#include "pipeline/trace/edge/boundary_sampler.h"
#include "pipeline/trace/edge/outline_fit_options.h"
#include "pipeline/trace/edge/photo_light.h"

namespace chalkfold::trace {

struct OutlineFit {
  /// points and sigma; U is left empty
  panel::Contour contour;
  /// indices of corner points in contour.points
  std::vector<std::size_t> corners;
  /// median step of the edge, in sigmas of the materials' own unevenness
  double contrast = 0;
  /// mm, median robust scatter of single edge places about the outline: grows with fray
  double scatter = 0;
  /// mm of outline treated as frayed
  double frayed = 0;
  /// share of places where no edge was found
  double failed = 0;
  /// what the boundary told of the light
  HeardLight heard;
};

/// Fits the outline to a tenth of a millimetre from a boundary good to half a millimetre (follow_boundary): corners are found, the boundary between
/// them is measured edge by edge in the original photo (fit_edge), and joined by a robust local quadratic (W. Cleveland, "Robust locally weighted regression",
/// 1979), one-sided at corners, which are the intersection of their two sides. Outward is right of the direction of travel.
OutlineFit fit_outline(const BoundarySampler& sampler, const Polyline& followed, const OutlineFitOptions& options);

}  // namespace chalkfold::trace
