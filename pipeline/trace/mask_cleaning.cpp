// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/mask_cleaning.h"

#include <opencv2/imgproc.hpp>

#include "pipeline/trace/table_masks.h"

namespace chalkfold {
namespace {

constexpr double stroke_width = 6;  // mm: chalk lines and holes up to this wide do not cut a panel apart
constexpr double blurred_stroke =
    5;  // px: what a line of a pixel or two grows to in the filters, however coarse the raster
constexpr double thread_width = 5;  // mm: threads and fringes up to this wide are not part of the shape

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

cv::Mat without_spurs(const cv::Mat& mask, double mm_per_px) {
  constexpr double width = 14, reach = 6;  // mm; a square corner's tip lies 3 mm outside a disc of 14 mm
  cv::Mat body;
  cv::morphologyEx(mask, body, cv::MORPH_OPEN, disc(width / mm_per_px));
  cv::dilate(body, body, disc(2 * reach / mm_per_px));
  return mask & body;
}

}  // namespace chalkfold
