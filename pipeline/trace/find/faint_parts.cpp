// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/faint_parts.h"

#include <cmath>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "pipeline/trace/base/table_colours.h"
#include "pipeline/trace/find/mask_cleaning.h"

namespace chalkfold::trace {
namespace {

/// Those candidates of a size of which at least half lies under `faint2`.
cv::Mat faint_ones(const cv::Mat& candidates, const cv::Mat& far, double faint2, double least_px) {
  cv::Mat labels, stats, centroids, faint = cv::Mat::zeros(candidates.size(), CV_8U);
  const int count = cv::connectedComponentsWithStats(candidates, labels, stats, centroids, 4);
  for (int i = 1; i < count; ++i) {
    const int area = stats.at<int>(i, cv::CC_STAT_AREA);
    if (area < least_px) continue;
    const cv::Rect box(stats.at<int>(i, cv::CC_STAT_LEFT), stats.at<int>(i, cv::CC_STAT_TOP),
                       stats.at<int>(i, cv::CC_STAT_WIDTH), stats.at<int>(i, cv::CC_STAT_HEIGHT));
    const cv::Mat own = labels(box) == i;
    if (2 * cv::countNonZero(own & (far(box) < faint2)) > area) faint(box).setTo(255, own);
  }
  return faint;
}

/// The connected regions of a mask that hold any of `seeds`.
cv::Mat regions_with(const cv::Mat& seeds, const cv::Mat& mask) {
  cv::Mat labels;
  std::vector<bool> kept(static_cast<std::size_t>(cv::connectedComponents(mask, labels, 4)), false);
  cv::Mat out = cv::Mat::zeros(mask.size(), CV_8U);
  for (int y = 0; y < mask.rows; ++y) {
    const auto* seed = seeds.ptr<unsigned char>(y);
    const int* label = labels.ptr<int>(y);
    for (int x = 0; x < mask.cols; ++x)
      if (seed[x] && label[x]) kept[static_cast<std::size_t>(label[x])] = true;
  }
  for (int y = 0; y < mask.rows; ++y) {
    auto* o = out.ptr<unsigned char>(y);
    const int* label = labels.ptr<int>(y);
    for (int x = 0; x < mask.cols; ++x) o[x] = kept[static_cast<std::size_t>(label[x])] ? 255 : 0;
  }
  return out;
}

}  // namespace

cv::Mat with_faint_parts(const cv::Mat& candidates, const cv::Mat& far, const cv::Mat& open_table,
                         const cv::Mat& near_paper, double mm_per_px) {
  constexpr double least = 400;  // mm2: smaller, 2 cm square, it is a stain or a thread
  // limits, median of a candidate below which a good part of it may lie under the limit; fitted: the photographs
  constexpr double faint_limits = 2.5;
  constexpr double half = 0.5;  // of the limit, twice what table comes to: a mean of 3, one a channel (chi-squared)
  constexpr double window = 6;  // mm over which that mean is taken, some 30 px
  const cv::Mat faint = faint_ones(candidates, far, faint_limits * own_colour2, least / (mm_per_px * mm_per_px));
  if (cv::countNonZero(faint) == 0) return candidates;
  cv::Mat mean;
  cv::min(far, faint_limits * own_colour2, mean);
  const int size = 2 * static_cast<int>(std::lround(0.5 * window / mm_per_px)) + 1;
  cv::boxFilter(mean, mean, -1, {size, size});
  const cv::Mat unlike = cleaned((mean > half * own_colour2) & open_table, near_paper, mm_per_px);
  return candidates | regions_with(faint, unlike | candidates);
}

}  // namespace chalkfold::trace
