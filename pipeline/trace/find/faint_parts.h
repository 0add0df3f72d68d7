// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

namespace chalkfold::trace {

/// Candidates for panels (CV_8U) found by their colour (`far`: squared Mahalanobis distance from the table's colours, CV_32F): where the limit cuts through a
/// candidate's own colours, black vinyl on slate for one, it is grown over all that is connected with it and nearer to it than to the table. Clear candidates stay as
/// they are. Nothing grows beyond `open_table`; `near_paper` and `mm_per_px` as for cleaned().
cv::Mat with_faint_parts(const cv::Mat& candidates, const cv::Mat& far, const cv::Mat& open_table,
                         const cv::Mat& near_paper, double mm_per_px);

}  // namespace chalkfold::trace
