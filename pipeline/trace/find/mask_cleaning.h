// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

namespace chalkfold::trace {

/// A mask of what is not table (CV_8U, 255 where set) with chalk lines and small holes closed and threads and fringes taken off. On a coarse raster
/// closed by as much as the filters widen a line, but not where `near_paper` is set: the gap between a panel and a sheet is no line.
cv::Mat cleaned(const cv::Mat& mask, const cv::Mat& near_paper, double mm_per_px);

/// Takes off what is narrow and reaches far, a long thread with the shadow and blur around it; and what reaches less far and for the most part does not look
/// like panel (`panel_like`, CV_8U), a loop of thread with the table inside it. Corners stay.
cv::Mat without_spurs(const cv::Mat& mask, const cv::Mat& panel_like, double mm_per_px);

}  // namespace chalkfold::trace
