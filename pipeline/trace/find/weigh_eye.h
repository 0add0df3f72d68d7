// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "pipeline/trace/find/eye_panels.h"

namespace chalkfold::trace {

// Two witnesses of what is panel: the colours, which draw the border closer, and the network, which knows shadows, tools and grain for what they are but is
// unsure of strips. Each has drawn a border; a panel has an edge all along it, and where the colours took shade or grain for panel there is none.

/// mm of a border without an edge, beyond which nobody knows where it runs; fitted: the photographs as they are and after a phone's processing
constexpr double edge_gap = 30;

/// A panel as the colours have it (CV_8U) with what of it the network sees on paper (CV_8U), of which the colours say nothing. Empty where the
/// network sees hardly an edge along its border, or clearly more, or one without gaps, along what it sees of the same panel: the colours do not tell it from the table. `visible`, CV_8U: where the photo shows the table.
cv::Mat weighed(const cv::Mat& by_colour, const EyeMaps& maps, const std::vector<EyePanel>& seen, const cv::Mat& paper,
                const cv::Mat& visible, double mm_per_px);

/// The panel among those seen that a mask shows, in much the same shape; null when none is.
const EyePanel* same_panel(const cv::Mat& mask, const std::vector<EyePanel>& seen);

/// Panels that the colours (CV_8U) took for one: what hangs on a panel that the network is sure of, each with an edge all round, and is wide and large enough
/// for a panel by itself. CV_8U masks; one when there is nothing of the kind.
std::vector<cv::Mat> told_apart(const cv::Mat& by_colour, const EyeMaps& maps, const std::vector<EyePanel>& seen,
                                const cv::Mat& visible, double mm_per_px, const TraceOptions& options);

/// log odds of a probability (CV_32F), nats, never more than 50 to 1: there are tables that the network has not seen the like of.
cv::Mat log_odds(const cv::Mat& probability);

/// Panels that the network is sure of and the colours do not know: CV_8U masks outside `taken`.
std::vector<cv::Mat> seen_by_eye_alone(const std::vector<EyePanel>& seen, const cv::Mat& taken);

/// mm, of the longest outer border of a mask.
double border_length(const cv::Mat& mask, double mm_per_px);

/// Longest stretch, mm, of a panel's outer border along which the network sees no edge; nothing is asked of the border of what the photo shows (`visible`, CV_8U).
double longest_without_edge(const cv::Mat& mask, const EyeMaps& maps, const cv::Mat& visible, double mm_per_px);

/// Longest stretch, mm, of a panel's outer border along which the light changes by another ratio than along the rest and
/// the network is not sure of a panel's edge. Panel and table reflect in one ratio under any
/// light, so that a shadow across both changes nothing; where a shadow's own edge was taken for the panel's, the ratio is the shadow's. `bgr`: CV_8UC3;
/// `open`, CV_8U: where panel or bare table may lie.
double longest_other_step(const cv::Mat& mask, const EyeMaps& maps, const cv::Mat& bgr, const cv::Mat& open,
                          double mm_per_px);

}  // namespace chalkfold::trace
