// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>

#include "pipeline/panel/panel.h"
#include "pipeline/trace/edge/boundary_sampler.h"

namespace chalkfold::trace {

struct SoftEdgeOptions {
  /// mm inward and outward that is looked at, of a thin panel; two thicknesses more
  double reach = 9;
  /// mm in which a thin panel's edge, blurred and with its shadow, makes most of its change; one thickness more
  double edge_width = 3;
  /// of the whole change that falls into the best such width; a slow change makes a sixth to a third of it
  double least_share = 0.4;
  /// of white, in linear light: less is grain, or table and panel alike, of which U tells
  double least_change = 0.08;
  /// mm along the outline over which grain is averaged out
  double average = 16;
  /// mm
  double least_length = 25;
};

/// A stretch of an outline.
struct SoftStretch {
  /// mm
  double length = 0;
  /// the outline's point in its middle
  std::size_t at = 0;
};

/// The longest stretch along which an outline follows no edge but a slow change of light: glare on a table, a reflection in vinyl, the border of a lamp's cone. Nothing
/// tells there how far off the edge is. Places with paper beside them are not judged and do not end a stretch. Table mm.
std::optional<SoftStretch> soft_stretch(const Polyline& outline, const BoundarySampler& sampler, double thickness,
                                        SoftEdgeOptions options = {});

}  // namespace chalkfold::trace
