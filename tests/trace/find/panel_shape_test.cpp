// SPDX-License-Identifier: Apache-2.0
// Widths and parts of masks, against shapes of known size.
#include "pipeline/trace/find/panel_shape.h"

#include <gtest/gtest.h>

#include <opencv2/imgproc.hpp>

namespace chalkfold::trace {
namespace {

cv::Mat with(const cv::Rect& where, cv::Mat mask = cv::Mat::zeros(200, 400, CV_8U)) {
  mask(where).setTo(255);
  return mask;
}

TEST(PanelShape, WidestIsTheDiameterOfTheLargestDisc) {
  EXPECT_NEAR(widest_px(with({50, 60, 200, 41})), 41, 1);
  cv::Mat round = cv::Mat::zeros(200, 400, CV_8U);
  cv::circle(round, {100, 100}, 50, 255, cv::FILLED);
  EXPECT_NEAR(widest_px(round), 101, 4) << "OpenCV's distances over a 5 x 5 mask are good to some 3 %";
}

TEST(PanelShape, ARuleIsNoPanelAndAWideStripIsOne) {
  EXPECT_FALSE(panel_like(with({20, 60, 360, 26}), 1, {}));
  EXPECT_TRUE(panel_like(with({20, 60, 360, 34}), 1, {}));
}

TEST(PanelShape, OneWideEndMakesNoPanelOfARule) {
  EXPECT_FALSE(panel_like(with({20, 60, 40, 40}, with({20, 70, 360, 20})), 1, {}));
}

TEST(PanelShape, LargestPartIsTheLargestAndOfNothingNothing) {
  const cv::Mat large = with({10, 10, 100, 50});
  EXPECT_EQ(cv::countNonZero(largest_part(with({200, 10, 40, 40}, large.clone())) != large), 0);
  EXPECT_EQ(cv::countNonZero(largest_part(cv::Mat::zeros(20, 20, CV_8U))), 0);
}

}  // namespace
}  // namespace chalkfold::trace
