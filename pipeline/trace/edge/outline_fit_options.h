// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>

#include "pipeline/trace/edge/edge_profile.h"

namespace chalkfold::trace {

struct OutlineFitOptions {
  /// mm between outline points
  double spacing = 1;
  /// Gaussian sigma of the picture, from the sheets' own edges
  double blur_px = 0.7;
  /// mm, of the panel
  double thickness = 1.2;
  /// mm of panel beside the edge that the profile takes in
  double inside = 4.4;
  /// mm of what adjoins it
  double outside = 4;
  /// mm either side of the followed boundary
  double search = 1.2;
  /// mm either side over which neighbouring edges are averaged, robustly
  double window = 6;
  /// mm, the same for frayed stretches
  double fray_window = 22;
  /// mm, a stretch that wanders by more about its course (robust standard deviation) is frayed
  double fray_roughness = 0.12;
  /// mm, arms over which a corner's turn is measured
  double corner_arm = 10;
  /// least turn of a corner
  double corner_turn_deg = 28;
  /// mm, most by which the followed boundary may cut a corner short
  double corner_cut = 3.0;
  /// when it is known; else it is learnt
  std::optional<TableLight> light;
};

}  // namespace chalkfold::trace
