// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "pipeline/trace/base/trace_options.h"

namespace chalkfold::trace {

/// The outer contour of most points of a mask (CV_8U), which is not empty.
std::vector<cv::Point> longest_contour(const cv::Mat& mask);

/// The largest 4-connected part of a mask (CV_8U); of an empty one the same.
cv::Mat largest_part(const cv::Mat& mask);

/// Diameter of the largest disc inside a mask (CV_8U), px.
double widest_px(const cv::Mat& mask);

/// A panel is wide enough somewhere, and nearly so over most of itself; tools are not: scissors, rules, chalk, coils of thread.
bool panel_like(const cv::Mat& mask, double mm_per_px, const TraceOptions& options);

}  // namespace chalkfold::trace
