// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/faint_parts.h"

#include <gtest/gtest.h>

#include <opencv2/imgproc.hpp>

#include "pipeline/trace/base/table_colours.h"

namespace chalkfold::trace {
namespace {

constexpr double hardly = 0.9 * own_colour2, clearly = 4 * own_colour2;                     // squared distances
const cv::Rect panel(50, 50, 200, 100), seen(50, 50, 80, 100), elsewhere(50, 220, 60, 60);  // px, of 1 mm

/// Table, and two places of this squared distance from it; the first is a candidate over a part of it alone.
cv::Mat grown_from(double far2, const cv::Mat& open_table) {
  cv::Mat far(300, 300, CV_32F, cv::Scalar(2)), candidates(300, 300, CV_8U, cv::Scalar(0));
  far(panel) = far2;
  far(elsewhere) = far2;
  candidates(seen) = 255;
  return with_faint_parts(candidates, far, open_table, cv::Mat::zeros(300, 300, CV_8U), 1);
}

const cv::Mat everywhere(300, 300, CV_8U, cv::Scalar(255));

TEST(FaintParts, ACandidateThatTheLimitCutsThroughIsGrownOverItsPanelAndNoFarther) {
  const cv::Mat found = grown_from(hardly, everywhere);
  constexpr double rim = 3 * 2 * (200 + 100);  // mm2: half of the window all round
  EXPECT_GE(cv::countNonZero(found(panel)), 0.99 * panel.area());
  EXPECT_NEAR(cv::countNonZero(found), panel.area(), rim);
  EXPECT_EQ(cv::countNonZero(found(elsewhere)), 0) << "no candidate said that it is a panel";
}

TEST(FaintParts, AClearCandidateStaysAsItIs) {
  EXPECT_EQ(cv::countNonZero(grown_from(clearly, everywhere)), seen.area());
}

TEST(FaintParts, NothingGrowsOverPaper) {
  cv::Mat open_table = everywhere.clone();
  const cv::Rect paper(180, 0, 120, 300);
  open_table(paper) = 0;
  const cv::Mat found = grown_from(hardly, open_table);
  EXPECT_EQ(cv::countNonZero(found(paper)), 0);
  EXPECT_GT(cv::countNonZero(found), seen.area());
}

}  // namespace
}  // namespace chalkfold::trace
