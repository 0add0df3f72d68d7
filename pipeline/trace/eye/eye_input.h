// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

#include "pipeline/trace/eye/feature_map.h"

namespace chalkfold::trace {

/// A table raster's picture and what is known of it. All of one size, at least 1 x 1 px.
struct EyeInput {
  /// CV_8UC3, blue green red, as the photo's sRGB codes are; the sheets' white is looked for here
  cv::Mat code;
  /// CV_8U, 255 where a sheet or a tag's card is known to lie, else 0
  cv::Mat known;
  /// CV_8U, what its print should show there: 0 white to 255 black. Not read where known is 0
  cv::Mat ink;
  /// CV_8U, 255 where the photo shows nothing, else 0
  cv::Mat unseen;
  /// The network learnt 1 to 3; more than 0, at most 100
  double mm_per_px = 0;
};

/// px: the network's maps are halved so often that heights and widths are multiples of it.
constexpr int eye_step = 64;

/// The network's six channels as demo/train/inputs.py makes them: blue, green, red (near a logarithm of linear light over the sheets' white), known, ink,
/// unseen; filled up to multiples of eye_step, to the right and below, with what is unseen.
FeatureMap encoded(const EyeInput& input);

/// Linear light of the sheets' unprinted paper, blue green red, 1 = code 255; 0.7 where too little of it is seen.
cv::Vec3d sheets_white(const EyeInput& input);

}  // namespace chalkfold::trace
