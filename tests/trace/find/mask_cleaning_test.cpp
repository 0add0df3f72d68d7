// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/mask_cleaning.h"

#include <gtest/gtest.h>

#include <opencv2/imgproc.hpp>

namespace chalkfold::trace {
namespace {

/// A square of 200 x 200 px amid 300 x 300, cut through from top to bottom by a gap this wide (px).
cv::Mat parted(int gap) {
  cv::Mat mask(300, 300, CV_8U, cv::Scalar(0));
  cv::rectangle(mask, {50, 50, 200, 200}, cv::Scalar(255), cv::FILLED);
  if (gap > 0) cv::rectangle(mask, {150, 0, gap, 300}, cv::Scalar(0), cv::FILLED);
  return mask;
}

bool whole(const cv::Mat& mask) {
  cv::Mat labels;
  return cv::connectedComponents(mask, labels, 4) == 2;  // what is not set counts as one
}

const cv::Mat nowhere(300, 300, CV_8U, cv::Scalar(0));
cv::Mat middle() {
  cv::Mat mask = nowhere.clone();
  cv::rectangle(mask, {100, 0, 100, 300}, cv::Scalar(255), cv::FILLED);
  return mask;
}

TEST(MaskCleaning, AChalkLineDoesNotCutAPanelApart) {
  EXPECT_TRUE(whole(cleaned(parted(5), nowhere, 1))) << "5 mm at 1 mm a pixel";
  EXPECT_FALSE(whole(cleaned(parted(8), nowhere, 1))) << "8 mm: two panels side by side";
}

TEST(MaskCleaning, OnACoarseRasterALineIsWidenedByTheFilters) {
  EXPECT_TRUE(whole(cleaned(parted(4), nowhere, 2))) << "4 px: what a line becomes at 2 mm a pixel";
  EXPECT_FALSE(whole(cleaned(parted(7), nowhere, 2)));
}

TEST(MaskCleaning, TheGapBetweenAPanelAndASheetStaysOpen) {
  EXPECT_FALSE(whole(cleaned(parted(4), middle(), 2))) << "8 mm beside paper are a gap";
  EXPECT_TRUE(whole(cleaned(parted(2), middle(), 2))) << "a chalk line there is still one";
}

TEST(MaskCleaning, ThreadsGoAndTheSquareStays) {
  cv::Mat mask = parted(0);
  cv::rectangle(mask, {250, 150, 40, 3}, cv::Scalar(255), cv::FILLED);
  const cv::Mat thin = cleaned(mask, nowhere, 1);
  EXPECT_EQ(cv::countNonZero(thin(cv::Rect(256, 0, 44, 300))), 0) << "but for the fillets at its root";
  EXPECT_NEAR(cv::countNonZero(thin), 200 * 200, 20) << "but for those and the corners' last pixels";
}

TEST(MaskCleaning, AWideSpurGoesToItsRootAndCornersStay) {
  cv::Mat mask = parted(0);
  cv::rectangle(mask, {250, 145, 45, 9}, cv::Scalar(255), cv::FILLED);  // 9 mm: a thread with its shadow and blur
  const cv::Mat body = without_spurs(mask, mask, 1);
  EXPECT_EQ(cv::countNonZero(body(cv::Rect(260, 0, 40, 300))), 0);
  EXPECT_EQ(cv::countNonZero(body(cv::Rect(50, 50, 200, 200))), 200 * 200);
}

TEST(MaskCleaning, ABumpThatDoesNotLookLikePanelGoesAndACornerStays) {
  // A loop of thread, closed by the filters, stands as far out as the tip of a corner of 60 degrees does.
  cv::Mat mask = parted(0);
  cv::rectangle(mask, {250, 145, 7, 10}, cv::Scalar(255), cv::FILLED);
  cv::Mat like = mask.clone();
  like(cv::Rect(250, 145, 7, 10)) = 0;
  constexpr int sure = 4;  // px: the body reaches into the bump by two, and beside it nothing is told
  const cv::Rect bump(250 + sure, 100, 40, 100);
  EXPECT_EQ(cv::countNonZero(without_spurs(mask, like, 1)(bump)), 0);
  EXPECT_GT(cv::countNonZero(without_spurs(mask, mask, 1)(bump)), 10) << "of the panel's colour it is its corner";
}

}  // namespace
}  // namespace chalkfold::trace
