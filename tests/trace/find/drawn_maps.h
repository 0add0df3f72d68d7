// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/imgproc.hpp>
#include <vector>

#include "pipeline/trace/find/eye_panels.h"

namespace chalkfold::trace::test {

// Maps of the network, drawn.
inline const cv::Size size(400, 300);  // px of 1 mm
inline constexpr int edge_width = 3;   // px: what the network was taught an edge is

inline EyeMaps bare_table() {
  EyeMaps maps;
  for (cv::Mat* m : {&maps.panel, &maps.paper, &maps.thing, &maps.edge, &maps.shadow})
    *m = cv::Mat::zeros(size, CV_32F);
  maps.table = cv::Mat::ones(size, CV_32F);
  return maps;
}

/// A panel with its edge as sure as told.
inline void lay(EyeMaps& maps, const cv::Rect& where, double sure, double edge) {
  maps.panel(where).setTo(sure);
  maps.table(where).setTo(1 - sure);
  if (edge > 0) cv::rectangle(maps.edge, where, edge, edge_width);
}

inline cv::Mat filled(const cv::Rect& where) {
  cv::Mat mask = cv::Mat::zeros(size, CV_8U);
  mask(where).setTo(255);
  return mask;
}

inline double shared(const cv::Mat& a, const cv::Mat& b) {
  return static_cast<double>(cv::countNonZero(a & b)) / cv::countNonZero(a | b);
}

inline std::vector<EyePanel> panels_of(const EyeMaps& maps) {
  return eye_panels(maps, cv::Mat(size, CV_8U, cv::Scalar(255)), 1, {});
}

inline const cv::Mat no_paper = cv::Mat::zeros(size, CV_8U);
inline constexpr double nearly_all = 0.97;  // intersection over union: half a pixel all round is 2 %

}  // namespace chalkfold::trace::test
