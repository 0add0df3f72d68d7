// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <opencv2/core.hpp>
#include <string>

namespace chalkfold::trace {

/// Called with a stage's picture when the user asked for them (`--pictures`): stage name and an 8-bit image.
using StagePicture = std::function<void(const std::string& stage, const cv::Mat& picture)>;

}  // namespace chalkfold::trace
