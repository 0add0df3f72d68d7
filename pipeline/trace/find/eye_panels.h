// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "pipeline/trace/base/trace_options.h"
#include "pipeline/trace/eye/eye.h"

namespace chalkfold::trace {

/// A panel as the network sees it.
struct EyePanel {
  /// CV_8U, of the maps' size
  cv::Mat mask;
  /// mean probability of panel within it
  double sure = 0;
  /// mean probability of a panel's edge along its border, where the photo shows both sides: a cloud of doubt on the table has none
  double bounded = 0;
};

/// Panels of the network's maps, the largest first: what is panel and no edge falls into cores, each core grows back through panel to the edge's ridge,
/// cores with hardly an edge between them are joined (chalk and folds part no panel), and what is too small or too narrow goes. As
/// demo/train/candidates.py. `visible`: CV_8U, where the photo shows the table.
std::vector<EyePanel> eye_panels(const EyeMaps& maps, const cv::Mat& visible, double mm_per_px,
                                 const TraceOptions& options);

/// Mean probability of a panel's edge along the border of a mask, the surest within a few px of it, where the photo shows both sides.
double edge_along(const cv::Mat& mask, const cv::Mat& edge, const cv::Mat& visible);

/// Numbers (CV_16U, from 1) of the parts of a mask between edges: every core where the edge is below `edge_most` grown back to the edge's ridge.
cv::Mat parts_between_edges(const cv::Mat& mask, const cv::Mat& edge, double edge_most, double mm_per_px);

}  // namespace chalkfold::trace
