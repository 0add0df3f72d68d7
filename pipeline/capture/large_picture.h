// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

namespace chalkfold::capture {

/// A picture, its pixels not yet set, whose memory the system is asked to hand out in large pages where it can: a photo's small pages are ten thousand,
/// and giving out each, and finding them again when a picture is read here and there, takes longer than much of the work. Changes no pixel.
cv::Mat large_picture(const cv::Size& size, int type);

}  // namespace chalkfold::capture
