// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/busy_regions.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "pipeline/geometry/robust.h"
#include "pipeline/trace/find/table_masks.h"

namespace chalkfold::trace {
namespace {

// fitted: outline_accuracy.py, seeds 9001, 21001, 31001, 41001
constexpr double repeat = 24;  // mm over which a pattern is judged: a check's or stripe's own repeat is seldom larger
// of a neighbourhood that must not look like table, half of what a whole one shows at least; fitted
constexpr double least_share = 0.25;

int odd(double px) { return 2 * static_cast<int>(std::lround(0.5 * px)) + 1; }

/// Local variance of lightness, codes squared.
cv::Mat unrest(const cv::Mat& lab, double mm_per_px) {
  constexpr double window = 5;  // mm: finer than a check, so that its edges count and slow changes of light do not
  cv::Mat light, mean, square;
  cv::extractChannel(lab, light, 0);
  const cv::Size size(odd(window / mm_per_px), odd(window / mm_per_px));
  cv::boxFilter(light, mean, CV_32F, size);
  cv::sqrBoxFilter(light, square, CV_32F, size);
  return square - mean.mul(mean);
}

/// What the table's unrest hardly ever exceeds.
double table_limit(const cv::Mat& unrest, const cv::Mat& table) {
  constexpr double rank = 0.98;        // of the table's places: what is left is crumbs, and where something lies on it
  constexpr double slack = 1.3 * 1.3;  // variances, where the table is a little busier than where it was seen; fitted
  constexpr double least = 1.2 * 1.2;  // codes squared: JPEG and noise alone make as much
  std::vector<float> seen;
  for (int y = 0; y < unrest.rows; y += 2) {
    const auto* u = unrest.ptr<float>(y);
    const auto* t = table.ptr<unsigned char>(y);
    for (int x = 0; x < unrest.cols; x += 2) {
      if (t[x]) seen.push_back(u[x]);
    }
  }
  if (seen.empty()) return 1e9;
  return std::max(least, slack * static_cast<double>(geometry::quantile(std::move(seen), rank)));
}

/// Share of hits about every pixel, of what is open there.
cv::Mat share_of(const cv::Mat& hits, const cv::Mat& open, int size) {
  cv::Mat hit, valid;
  cv::Mat(hits & open).convertTo(hit, CV_32F, 1.0 / 255);
  open.convertTo(valid, CV_32F, 1.0 / 255);
  cv::boxFilter(hit, hit, -1, {size, size});
  cv::boxFilter(valid, valid, -1, {size, size});
  constexpr double least_open = 0.2;  // of the neighbourhood: less, a corner beside paper, says little
  return hit / cv::max(valid, least_open);
}

}  // namespace

cv::Mat busy_regions(const cv::Mat& far, const cv::Mat& lab, const cv::Mat& table, const cv::Mat& open,
                     double mm_per_px) {
  const cv::Mat busy = unrest(lab, mm_per_px);
  const cv::Mat share = share_of(far | (busy > table_limit(busy, table)), open, odd(repeat / mm_per_px));
  cv::Mat found = (share > least_share) & open;
  cv::Mat labels, stats, centres;
  const int count = cv::connectedComponentsWithStats(found, labels, stats, centres, 4);
  for (int i = 1; i < count; ++i) {
    const cv::Rect box(stats.at<int>(i, cv::CC_STAT_LEFT), stats.at<int>(i, cv::CC_STAT_TOP),
                       stats.at<int>(i, cv::CC_STAT_WIDTH), stats.at<int>(i, cv::CC_STAT_HEIGHT));
    cv::Mat region = labels(box) == i, core, padded;
    cv::copyMakeBorder(region, padded, 1, 1, 1, 1, cv::BORDER_CONSTANT, cv::Scalar(0));
    cv::erode(padded, core, disc(repeat / mm_per_px));
    core = core(cv::Rect(1, 1, box.width, box.height));
    // At the limit of a region half the neighbourhood is of it.
    const double within = cv::countNonZero(core) > 0 ? cv::mean(share(box), core)[0] : 0;
    cv::Mat kept = within > 2 * least_share ? cv::Mat(region & (share(box) > 0.5 * within))
                                            : cv::Mat(cv::Mat::zeros(box.size(), CV_8U));
    kept.copyTo(found(box), region);
  }
  return found;
}

bool mingled(const cv::Mat& panel, const cv::Mat& other, double mm_per_px) {
  constexpr double speck = 3;       // mm: noise and chalk are smaller than a pattern's parts
  constexpr double repeat = 30;     // mm, of a pattern, at most
  constexpr double all_over = 0.8;  // of the panel; a shadow's or a patch's border is a small part of it
  cv::Mat on, off, near_on, near_off;
  cv::morphologyEx(other & panel, on, cv::MORPH_OPEN, disc(speck / mm_per_px));
  cv::morphologyEx(panel & ~other, off, cv::MORPH_OPEN, disc(speck / mm_per_px));
  cv::dilate(on, near_on, disc(repeat / mm_per_px));
  cv::dilate(off, near_off, disc(repeat / mm_per_px));
  return cv::countNonZero(near_on & near_off & panel) > all_over * cv::countNonZero(panel);
}

}  // namespace chalkfold::trace
