// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/chalk/ridge_field.h"

namespace chalkfold::trace {

struct CrestChainOptions {
  /// strength from which a chain may start; weaker crest points only carry one on
  double seed = 1;
  /// a break in the line that is bridged
  double gap_px = 6;
  /// shortest chain kept, from end to end along it
  double least_px = 8;
};

/// Crest points in order along one line.
using CrestChain = std::vector<CrestPoint>;

/// Follows crest points into lines, from the strongest on, both ways, over short breaks, never twice over the same point.
/// `size` is that of the field. The order of the result is that of the seeds' strength (ties by place), so it is always the same.
std::vector<CrestChain> chain_crests(const std::vector<CrestPoint>& points, const cv::Size& size,
                                     const CrestChainOptions& options);

}  // namespace chalkfold::trace
