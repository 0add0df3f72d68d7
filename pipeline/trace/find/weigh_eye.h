// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "pipeline/trace/find/eye_panels.h"

namespace chalkfold::trace {

/// Two witnesses of what is panel: the colours, which draw the border closer, and the network, which knows shadows, tools and grain for what they are. Where they
/// disagree over more than a border's width the network decides if it is sure; if it is not, the colours do.
/// On paper (CV_8U), of which the colours say nothing, the network decides alone.
/// `by_colour`: CV_8U, a panel as the colours have it. Returns what is left and grown of it, in as many parts as the network saw panels in it; what the network sees no
/// panel in is left as it is.
std::vector<cv::Mat> weighed(const cv::Mat& by_colour, const EyeMaps& maps, const std::vector<EyePanel>& seen,
                             const cv::Mat& paper, double mm_per_px);

/// Panels that the network is sure of and the colours do not know: CV_8U masks outside `taken`.
std::vector<cv::Mat> seen_by_eye_alone(const std::vector<EyePanel>& seen, const cv::Mat& taken);

/// Panels that a shadow's edge crosses, which the colours (`candidates`, CV_8U) take for something else than the network does: shade for panel, or panel for
/// shade.
std::vector<cv::Mat> crossed_by_shadow(const std::vector<EyePanel>& seen, const EyeMaps& maps,
                                       const cv::Mat& candidates);

}  // namespace chalkfold::trace
