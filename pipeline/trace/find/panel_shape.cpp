// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/panel_shape.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

namespace chalkfold::trace {
namespace {

/// Share of a region that a disc of this diameter can reach without leaving it (morphological opening, by distance transforms).
double wide_share(const cv::Mat& mask, double diameter_px) {
  const int margin = static_cast<int>(std::ceil(diameter_px)) + 1;
  cv::Mat padded, distance, reach;
  cv::copyMakeBorder(mask, padded, margin, margin, margin, margin, cv::BORDER_CONSTANT, cv::Scalar(0));
  cv::distanceTransform(padded, distance, cv::DIST_L2, 5);
  const cv::Mat core = distance < 0.5 * diameter_px;
  cv::distanceTransform(core, reach, cv::DIST_L2, 5);
  return static_cast<double>(cv::countNonZero((reach < 0.5 * diameter_px) & padded)) /
         std::max(1, cv::countNonZero(mask));
}

}  // namespace

cv::Mat largest_part(const cv::Mat& mask) {
  cv::Mat labels, stats, centroids;
  const int count = cv::connectedComponentsWithStats(mask, labels, stats, centroids, 4);
  int largest = 0;
  for (int i = 1; i < count; ++i)
    if (largest == 0 || stats.at<int>(i, cv::CC_STAT_AREA) > stats.at<int>(largest, cv::CC_STAT_AREA)) largest = i;
  return largest == 0 ? mask.clone() : cv::Mat(labels == largest);
}

double widest_px(const cv::Mat& mask) {
  cv::Mat padded, distance;
  cv::copyMakeBorder(mask, padded, 1, 1, 1, 1, cv::BORDER_CONSTANT, cv::Scalar(0));
  cv::distanceTransform(padded, distance, cv::DIST_L2, 5);
  double top = 0;
  cv::minMaxLoc(distance, nullptr, &top);
  return 2 * top - 1;  // px; the border pixel's centre lies half a pixel inside on either side
}

bool panel_like(const cv::Mat& mask, double mm_per_px, const TraceOptions& options) {
  constexpr double share = 0.7;    // of the area: corners and tapered ends make up the rest; fitted
  constexpr double slack = 0.85;   // of the least width, over that share; fitted
  constexpr double edge_px = 1.5;  // of slack: the mask's edge is only good to a pixel or so
  if (widest_px(mask) * mm_per_px < options.min_width - edge_px * mm_per_px) return false;
  return wide_share(mask, slack * options.min_width / mm_per_px) > share;
}

std::vector<cv::Point> longest_contour(const cv::Mat& mask) {
  std::vector<std::vector<cv::Point>> contours;
  cv::findContours(mask.clone(), contours, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
  return *std::max_element(contours.begin(), contours.end(),
                           [](const auto& a, const auto& b) { return a.size() < b.size(); });
}

}  // namespace chalkfold::trace
