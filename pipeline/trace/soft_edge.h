// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>

#include "pipeline/trace/boundary_sampler.h"
#include "pipeline/trace/panel.h"

namespace chalkfold {

struct SoftEdgeOptions {
  double reach = 9;  ///< mm inward and outward that is looked at, of a thin panel; two thicknesses more
  double edge_width =
      3;  ///< mm in which a thin panel's edge, blurred and with its shadow, makes most of its change; one thickness more
  double least_share =
      0.4;  ///< of the whole change that falls into the best such width; a slow change makes a sixth to a third of it
  double least_change = 0.08;  ///< of white, in linear light: less is grain, or table and panel alike, of which U tells
  double average = 16;         ///< mm along the outline over which grain is averaged out
  double least_length = 25;    ///< mm
};

/// A stretch of an outline.
struct SoftStretch {
  double length = 0;   ///< mm
  std::size_t at = 0;  ///< the outline's point in its middle
};

/// The longest stretch along which an outline follows no edge but a slow change of light: glare on a table, a reflection in vinyl, the border of a lamp's cone. Nothing
/// tells there how far off the edge is. Places with paper beside them are not judged and do not end a stretch. Table mm.
std::optional<SoftStretch> soft_stretch(const Polyline& outline, const BoundarySampler& sampler, double thickness,
                                        SoftEdgeOptions options = {});

}  // namespace chalkfold
