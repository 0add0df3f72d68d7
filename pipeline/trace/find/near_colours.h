// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

#include "pipeline/trace/eye/eye.h"

namespace chalkfold::trace {

// Panels that the network saw, drawn closer where the usual colours do not tell panel from table. `seen`, `open` (where panel or bare table may lie): CV_8U;
// `lab`: CV_8UC3; all of the maps' size. The answer is CV_8U, one connected part.

/// Of nearly the table's colour: the panel's colours and those of the table about it are learnt from where each surely lies, and every pixel goes where these
/// colours and the network's odds together put its neighbourhood; three times, each from the last one's border.
cv::Mat told_from_near_colours(const cv::Mat& seen, const cv::Mat& lab, const EyeMaps& eye, const cv::Mat& open,
                               double mm_per_px);

/// The edge of a cast shadow crosses panel and table: both are darker there by one ratio, which is found as the one under which all that is seen is likeliest.
/// Colours are learnt in the open light; where the shadow lies the network says. Parts between edges are decided as a whole first.
cv::Mat told_under_shadow(const cv::Mat& seen, const cv::Mat& lab, const EyeMaps& eye, const cv::Mat& open,
                          double mm_per_px);

}  // namespace chalkfold::trace
