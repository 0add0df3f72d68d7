// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

#include "pipeline/trace/eye/feature_map.h"
#include "pipeline/trace/eye/instructions.h"

namespace chalkfold::trace {

/// CV_32F, probabilities. Table, panel, paper and thing make 1 together at every pixel; the others stand for themselves.
struct EyeMaps {
  cv::Mat table, panel, paper, thing;
  /// within 1.5 px of a panel's outline
  cv::Mat edge;
  /// more than 15 % of the light lost to a shadow
  cv::Mat shadow;
};

/// The network's six maps, doubled (bilinear, px centres kept in place, beyond the rim the rim) and turned into probabilities. `size`: of the picture, at
/// most twice the maps': what lies beyond was only filled up.
EyeMaps probabilities(const FeatureMap& half_size_logits, const cv::Size& size,
                      Instructions instructions = best_instructions());

}  // namespace chalkfold::trace
