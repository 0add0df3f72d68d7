// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>

#include "pipeline/trace/edge/edge_profile.h"

namespace chalkfold::trace {

/// mm between outline points: the seams of a cover are curves of centimetres.
constexpr double outline_spacing = 1;

/// mm either side of the followed boundary in which the edge is looked for: twice what that is good to, and then some.
constexpr double edge_search = 1.2;

struct OutlineFitOptions {
  /// Gaussian sigma of the picture, from the sheets' own edges
  double blur_px = 0.7;
  /// mm, of the panel
  double thickness = 1.2;
  /// when it is known; else it is learnt
  std::optional<TableLight> light;
};

}  // namespace chalkfold::trace
