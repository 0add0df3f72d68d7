// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <vector>

namespace chalkfold::trace {

/// Sides of the network's input are multiples of this many px.
inline constexpr int eye_step = 64;

/// Runs the network that is built into the program: six CV_32F channels of one size, a multiple of eye_step each way, to six CV_32F maps of probabilities: table,
/// panel, paper, thing, edge, shadow. Throws std::logic_error when the built-in data are damaged.
std::vector<cv::Mat> run_eye(const std::vector<cv::Mat>& channels, double mm_per_px);

}  // namespace chalkfold::trace
