// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/trace/base/panel_prior.h"
#include "pipeline/trace/edge/boundary_sampler.h"

namespace chalkfold::trace {

struct BoundaryPathOptions {
  /// mm either side of the coarse boundary: two pixels of the coarsest raster, and a wall's width
  double search = 4;
  /// mm beyond the search on either side from which panel and table colours are learnt; fitted, as boundary_path.cpp has it
  double context = 3;
  /// as far as it is trusted, beside the colours: nats a sample of a quarter of a millimetre for a nat of its own
  PanelPrior prior;
  float trust = 0;
};

struct FollowedBoundary {
  /// closed, of about `outline_spacing`
  Polyline points;
  /// mm, 1 standard deviation, of each point: how far off the next best courses of the boundary run, by how likely they are
  std::vector<double> rival;
};

/// Follows a panel's boundary near a coarse closed contour (counter-clockwise for outlines, clockwise for cut-outs: outward is on the right):
/// every line across the boundary is cut into panel and not panel by colour likelihood (the panel's and the table's own colours at that place,
/// the table also in shadow; what is neither says next to nothing), a cut side in view left out as wide as it shows, all lines together by dynamic
/// programming, so that a chalk mark, a thread or a knot on a few lines does not pull the boundary. Good to about half a millimetre.
FollowedBoundary follow_boundary(const BoundarySampler& sampler, const Polyline& coarse,
                                 const BoundaryPathOptions& options);

/// Gaussian smoothing of a closed polyline along its length, sigma in points.
Polyline smooth_closed(const Polyline& closed, double sigma);

/// Unit normals pointing right of the direction of travel (outward on a counter-clockwise outline), over a chord of 2 * reach points.
Polyline right_normals(const Polyline& closed, int reach);

}  // namespace chalkfold::trace
