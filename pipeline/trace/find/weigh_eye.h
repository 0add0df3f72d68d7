// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "pipeline/trace/find/eye_panels.h"

namespace chalkfold::trace {

// Two witnesses of what is panel: the colours, which draw the border closer, and the network, which knows shadows, tools and grain for what they are but is
// unsure of strips and of panels that fill the picture. Where the colours tell a panel from the table they are believed.

/// A panel as the colours have it (CV_8U) with what of it the network sees on paper (CV_8U), of which the colours say nothing. Empty where the colours do not
/// tell it from the table: they leave out a wide part of what the network sees as one piece with the rest.
cv::Mat weighed(const cv::Mat& by_colour, const EyeMaps& maps, const std::vector<EyePanel>& seen, const cv::Mat& paper,
                double mm_per_px);

/// Panels that the network is sure of and the colours do not know: CV_8U masks outside `taken`.
std::vector<cv::Mat> seen_by_eye_alone(const std::vector<EyePanel>& seen, const cv::Mat& taken);

/// Panels that a shadow's edge crosses, which the colours (`candidates`, CV_8U) take for something else than the network does: shade for panel, or panel for
/// shade.
std::vector<cv::Mat> crossed_by_shadow(const std::vector<EyePanel>& seen, const EyeMaps& maps,
                                       const cv::Mat& candidates);

/// Longest stretch, mm, of a panel's outer border along which the network sees no edge; nothing is asked of the border of what the photo shows (`visible`, CV_8U).
double longest_without_edge(const cv::Mat& mask, const EyeMaps& maps, const cv::Mat& visible, double mm_per_px);

/// Longest stretch, mm, of a panel's outer border along which the light changes by another ratio than along the rest. Panel and table reflect in one ratio under any
/// light, so that a shadow across both changes nothing; where a shadow's own edge was taken for the panel's, the ratio is the shadow's. `bgr`: CV_8UC3;
/// `open`, CV_8U: where panel or bare table may lie.
double longest_other_step(const cv::Mat& mask, const cv::Mat& bgr, const cv::Mat& open, double mm_per_px);

}  // namespace chalkfold::trace
