// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>

#include "pipeline/panel/panel.h"
#include "pipeline/trace/edge/boundary_sampler.h"

namespace chalkfold::trace {

/// A stretch of an outline.
struct SoftStretch {
  /// mm
  double length = 0;
  /// the outline's point in its middle
  std::size_t at = 0;
};

/// The longest stretch along which an outline follows no edge but a slow change of light: glare on a table, a reflection in vinyl, the border of a lamp's cone. Nothing
/// tells there how far off the edge is. Places with paper beside them are not judged and do not end a stretch. Table mm.
std::optional<SoftStretch> soft_stretch(const Polyline& outline, const BoundarySampler& sampler, double thickness);

}  // namespace chalkfold::trace
