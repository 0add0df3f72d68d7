// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "pipeline/trace/eye/eye.h"

namespace chalkfold::trace {

/// The network's six channels (CV_32F), as demo/train/inputs.py makes them, filled up with unseen pixels at the right and below to multiples of `step`.
std::vector<cv::Mat> eye_channels(const EyeInput& input, int step);

}  // namespace chalkfold::trace
