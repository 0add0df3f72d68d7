// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>

#include "pipeline/trace/boundary_sampler.h"
#include "pipeline/trace/panel.h"
#include "pipeline/trace/photo_light.h"

namespace chalkfold {

struct OutlineFitOptions {
  double spacing = 1;       ///< mm between outline points
  double blur_px = 0.7;     ///< Gaussian sigma of the picture, from the sheets' own edges
  double thickness = 1.2;   ///< mm, of the panel
  double inside = 4.4;      ///< mm of panel beside the edge that the profile takes in
  double outside = 4;       ///< mm of what adjoins it
  double search = 1.2;      ///< mm either side of the followed boundary
  double window = 6;        ///< mm either side over which neighbouring edges are averaged, robustly
  double fray_window = 22;  ///< mm, the same for frayed stretches
  double fray_roughness =
      0.12;  ///< mm, a stretch that wanders by more about its course (robust standard deviation) is frayed
  double corner_arm = 10;           ///< mm, arms over which a corner's turn is measured
  double corner_turn_deg = 28;      ///< least turn of a corner
  double corner_cut = 3.0;          ///< mm, most by which the followed boundary may cut a corner short
  std::optional<TableLight> light;  ///< when it is known; else it is learnt
};

struct OutlineFit {
  Contour contour;                   ///< points and sigma; U is left empty
  std::vector<std::size_t> corners;  ///< indices of corner points in contour.points
  double contrast = 0;               ///< median step of the edge, in sigmas of the materials' own unevenness
  double scatter = 0;  ///< mm, median robust scatter of single edge places about the outline: grows with fray
  double frayed = 0;   ///< mm of outline treated as frayed
  double failed = 0;   ///< share of places where no edge was found
  HeardLight heard;    ///< what the boundary told of the light
};

/// Fits the outline to a tenth of a millimetre from a boundary good to half a millimetre (follow_boundary): corners are found, the boundary between
/// them is measured edge by edge in the original photo (fit_edge), and joined by a robust local quadratic (W. Cleveland, "Robust locally weighted regression",
/// 1979), one-sided at corners, which are the intersection of their two sides. Outward is right of the direction of travel.
OutlineFit fit_outline(const BoundarySampler& sampler, const Polyline& followed, const OutlineFitOptions& options);

}  // namespace chalkfold
