// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

#include "pipeline/trace/base/table_raster.h"

namespace chalkfold::trace {

/// What is known of every place before its boundary is looked at closely. Empty: nothing.
struct PanelPrior {
  TableRaster raster;
  /// CV_32F of the raster's size, nats: log odds of panel against all else
  cv::Mat log_odds;

  /// Bilinear; 0 where nothing is known.
  float at(const Vec2& table) const;
};

}  // namespace chalkfold::trace
