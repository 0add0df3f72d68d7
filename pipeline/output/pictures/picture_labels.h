// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

#include "pipeline/output/pictures/picture_frame.h"

namespace chalkfold::output {

/// A copy of the rectified picture with outline, cut-outs and U whiskers drawn on it and a strip of labels added below.
/// Throws std::runtime_error when Cairo ran out of memory.
cv::Mat with_labels(const cv::Mat& picture, const PictureFrame& frame, const panel::Panel& panel,
                    const PictureOptions& options);

}  // namespace chalkfold::output
