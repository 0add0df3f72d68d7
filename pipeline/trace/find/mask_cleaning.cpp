// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/mask_cleaning.h"

#include <opencv2/imgproc.hpp>

#include "pipeline/trace/find/table_masks.h"

namespace chalkfold::trace {
namespace {

constexpr double stroke_width = 6;  // mm: chalk lines and holes up to this wide do not cut a panel apart
// px: what a line of a pixel or two grows to in the filters, however coarse the raster
constexpr double blurred_stroke = 5;
// mm: threads and fringes up to this wide are not part of the shape; fitted: the photographs
constexpr double thread_width = 5;

}  // namespace

cv::Mat cleaned(const cv::Mat& mask, const cv::Mat& near_paper, double mm_per_px) {
  cv::Mat out;
  cv::morphologyEx(mask, out, cv::MORPH_CLOSE, disc(stroke_width / mm_per_px));
  if (stroke_width / mm_per_px < blurred_stroke) {
    cv::Mat wide;
    cv::morphologyEx(mask, wide, cv::MORPH_CLOSE, disc(blurred_stroke));
    out |= wide & ~near_paper;
  }
  cv::morphologyEx(out, out, cv::MORPH_OPEN, disc(thread_width / mm_per_px));
  return out;
}

cv::Mat without_spurs(const cv::Mat& mask, const cv::Mat& panel_like, double mm_per_px) {
  constexpr double width = 14;  // mm: a thread with shadow and blur is narrower, half of the narrowest panel wider
  constexpr double reach = 6;   // mm: a square corner's tip lies 3 mm outside a disc of 14 mm, one of 60 degrees 7 mm
  constexpr double sure = 2;    // mm beside the body: nothing is told of what reaches no farther
  // of a corner's tip, blurred edge and fray counted in: most of it looks like panel
  constexpr double least_like = 0.5;
  cv::Mat body, near, labels, stats, centroids;
  cv::morphologyEx(mask, body, cv::MORPH_OPEN, disc(width / mm_per_px));
  cv::dilate(body, near, disc(2 * reach / mm_per_px));
  cv::Mat out = mask & near;
  cv::dilate(body, near, disc(2 * sure / mm_per_px));
  const int count = cv::connectedComponentsWithStats(out & ~near, labels, stats, centroids, 8);
  for (int i = 1; i < count; ++i) {
    const cv::Rect box(stats.at<int>(i, cv::CC_STAT_LEFT), stats.at<int>(i, cv::CC_STAT_TOP),
                       stats.at<int>(i, cv::CC_STAT_WIDTH), stats.at<int>(i, cv::CC_STAT_HEIGHT));
    const cv::Mat spur = labels(box) == i;
    if (cv::countNonZero(spur & panel_like(box)) < least_like * stats.at<int>(i, cv::CC_STAT_AREA))
      out(box).setTo(0, spur);
  }
  return out;
}

}  // namespace chalkfold::trace
