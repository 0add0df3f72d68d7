// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/table_colours.h"

#include <gtest/gtest.h>

namespace chalkfold::trace {
namespace {

const Eigen::Vector3d spread(4, 2, 2);

/// Two colours side by side, with a small stray third.
cv::Mat striped() {
  cv::Mat lab(60, 100, CV_8UC3, cv::Scalar(150, 130, 140));
  lab.colRange(50, 100).setTo(cv::Scalar(90, 128, 135));
  lab(cv::Rect(0, 0, 12, 12)).setTo(cv::Scalar(240, 128, 128));
  return lab;
}

TEST(ColourMixture, KnowsTheColoursItLearnt) {
  const cv::Mat lab = striped(), all(lab.size(), CV_8U, cv::Scalar(255));
  const ColourMixture mixture = ColourMixture::fit(lab, all, 5, spread);
  EXPECT_LT(mixture.distance2({150, 130, 140}), 1);
  EXPECT_LT(mixture.distance2({90, 128, 135}), 1);
  EXPECT_GT(mixture.distance2({120, 128, 135}), 9);
  EXPECT_GT(mixture.log_density(Eigen::Vector3d(150, 130, 140)), mixture.log_density(Eigen::Vector3d(200, 130, 140)));
}

TEST(ColourMixture, ForgetsStrays) {
  const cv::Mat lab = striped(), all(lab.size(), CV_8U, cv::Scalar(255));
  ColourMixture mixture = ColourMixture::fit(lab, all, 5, spread);
  EXPECT_LT(mixture.distance2({240, 128, 128}), 2);
  mixture.drop_strays(0.04);
  EXPECT_GT(mixture.distance2({240, 128, 128}), 100);
  EXPECT_LT(mixture.distance2({90, 128, 135}), 1);
}

TEST(ColourMixture, OnlyTheMaskCounts) {
  const cv::Mat lab = striped();
  cv::Mat left(lab.size(), CV_8U, cv::Scalar(0));
  left(cv::Rect(15, 0, 30, 60)).setTo(255);
  EXPECT_GT(ColourMixture::fit(lab, left, 5, spread).distance2({90, 128, 135}), 100);
}

TEST(ColourMixture, TooLittleToLearnFromIsEmpty) {
  EXPECT_TRUE(ColourMixture::fit(striped(), cv::Mat(60, 100, CV_8U, cv::Scalar(0)), 5, spread).empty());
}

}  // namespace
}  // namespace chalkfold::trace
