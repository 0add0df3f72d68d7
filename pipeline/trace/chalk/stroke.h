// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

#include "pipeline/panel/mark.h"

namespace chalkfold::trace {

/// A line drawn on a panel with chalk or pen.
struct Stroke {
  /// table mm, along its middle
  Polyline points;
  /// mm
  double length = 0;
  /// mm, of the drawn line, blur taken off
  double width = 0;
  /// its colour less that of the material on both sides, in PanelPicture::departure's channels
  cv::Vec3f departure;
  /// norm of `departure`: in the material's own standard deviations
  double contrast = 0;
  /// share of its length that departs the same way by at least a third as much
  double steadiness = 0;
  /// contrast over the spread of the same measurement at displaced places of the panel
  double significance = 0;
  /// displaced copies, farther off than marks drawn together lie, that depart nearly as much
  int repeats = 0;
  panel::Srgb colour{};
};

}  // namespace chalkfold::trace
