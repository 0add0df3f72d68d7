// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/eye/eye_input.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>

#include "pipeline/common/require.h"
#include "tests/trace/eye/table_picture.h"

namespace chalkfold::trace {
namespace {

/// 64 x 64 px of table with 30 x 10 px of paper.
EyeInput paper_on_table(const cv::Scalar& table, const cv::Scalar& paper) {
  EyeInput input;
  input.code = cv::Mat(64, 64, CV_8UC3, table);
  for (cv::Mat* mask : {&input.known, &input.ink, &input.unseen}) *mask = cv::Mat::zeros(64, 64, CV_8U);
  const cv::Rect sheet(10, 10, 30, 10);
  input.code(sheet) = paper;
  input.known(sheet) = 255;
  input.mm_per_px = 1.5;
  return input;
}

std::array<float, 6> px(const FeatureMap& map, int x, int y) {
  std::array<float, 6> out{};
  std::copy_n(map.row(y) + std::ptrdiff_t{x} * 6, 6, out.begin());
  return out;
}

TEST(EyeInput, ColoursAreTheLogarithmOfLightOverTheSheetsWhite) {
  // Expected: demo/train/inputs.py's formula for white 1 (paper of code 255), computed apart: codes 0, 128, 255 and 20.
  EyeInput input = paper_on_table(cv::Scalar(0, 128, 255), cv::Scalar::all(255));
  input.code.at<cv::Vec3b>(50, 50) = {20, 20, 20};
  const FeatureMap map = encoded(input);
  constexpr float float_rounding = 2e-6F;
  EXPECT_THAT(px(map, 1, 1), testing::Pointwise(testing::FloatNear(float_rounding),
                                                std::array{-0.5F, 0.1275732F, 0.5F, 0.0F, 0.0F, 0.0F}));
  EXPECT_NEAR(px(map, 50, 50)[0], -0.4237162F, float_rounding);
}

TEST(EyeInput, PaperIsWhiteWhateverTheLight) {
  const FeatureMap map = encoded(paper_on_table(cv::Scalar::all(60), cv::Scalar(140, 170, 200)));
  for (int c = 0; c < 3; ++c) EXPECT_NEAR(px(map, 20, 15)[static_cast<std::size_t>(c)], 0.5F, 1e-6F) << c;
}

TEST(EyeInput, ShadowAndPrintOnASheetAreNotItsWhite) {
  EyeInput input = paper_on_table(cv::Scalar::all(60), cv::Scalar::all(220));
  const cv::Vec3d clean = sheets_white(input);
  input.code(cv::Rect(10, 10, 8, 10)) = cv::Scalar::all(120);
  input.code(cv::Rect(30, 12, 5, 5)) = cv::Scalar::all(255);
  input.ink(cv::Rect(30, 12, 5, 5)) = 255;
  input.code(cv::Rect(36, 12, 3, 5)) = cv::Scalar::all(255);
  input.unseen(cv::Rect(36, 12, 3, 5)) = 255;
  EXPECT_NEAR(sheets_white(input)[1], clean[1], 1e-12);
}

TEST(EyeInput, HalfShadowIsDarkerThanTheMeanOfWhatTheFirstMeanLeft) {
  // Linear light of 40, 170 and 220: 0.02, 0.40 and 0.72. Their mean leaves the two brighter ones, the mean of those the brightest.
  EyeInput input = paper_on_table(cv::Scalar::all(60), cv::Scalar::all(220));
  const cv::Vec3d clean = sheets_white(input);
  input.code(cv::Rect(10, 10, 10, 10)) = cv::Scalar::all(40);
  input.code(cv::Rect(20, 10, 10, 10)) = cv::Scalar::all(170);
  EXPECT_NEAR(sheets_white(input)[1], clean[1], 1e-12);
}

TEST(EyeInput, WithoutPaperWhiteIsTheOneOfTraining) {
  EyeInput input = paper_on_table(cv::Scalar::all(60), cv::Scalar::all(220));
  input.known = 0;
  input.known(cv::Rect(10, 10, 5, 4)) = 255;  // 20 px: not enough
  EXPECT_EQ(sheets_white(input), cv::Vec3d::all(0.7));
  input.known(cv::Rect(10, 14, 1, 1)) = 255;
  EXPECT_NE(sheets_white(input), cv::Vec3d::all(0.7));
}

TEST(EyeInput, InkCountsOnSheetsOnlyAndUnseenHasNoColour) {
  EyeInput input = paper_on_table(cv::Scalar::all(60), cv::Scalar::all(220));
  input.ink = 51;
  input.unseen.at<uchar>(15, 20) = 255;
  const FeatureMap map = encoded(input);
  EXPECT_EQ(px(map, 15, 15)[3], 1.0F);
  EXPECT_FLOAT_EQ(px(map, 15, 15)[4], 0.2F);
  EXPECT_EQ(px(map, 50, 50)[3], 0.0F);
  EXPECT_EQ(px(map, 50, 50)[4], 0.0F);
  EXPECT_THAT(px(map, 20, 15), testing::ElementsAre(0, 0, 0, 1, testing::FloatEq(0.2F), 1));
}

TEST(EyeInput, IsFilledUpWithUnseen) {
  const EyeInput input = table_picture({65, 40});
  const FeatureMap map = encoded(input);
  EXPECT_EQ(map.width(), 128);
  EXPECT_EQ(map.height(), 64);
  EXPECT_EQ(px(map, 64, 20)[5], 0.0F);
  EXPECT_THAT(px(map, 65, 20), testing::ElementsAre(0, 0, 0, 0, 0, 1));
  EXPECT_THAT(px(map, 20, 40), testing::ElementsAre(0, 0, 0, 0, 0, 1));
}

TEST(EyeInput, RefusesWhatDoesNotFitTogether) {
  const EyeInput good = table_picture({64, 64});
  const auto refused = [&](const auto& spoil, const char* why) {
    EyeInput input = good;
    spoil(input);
    try {
      encoded(input);
      ADD_FAILURE() << "taken, though " << why;
    } catch (const PreconditionError& error) {
      EXPECT_THAT(error.what(), testing::HasSubstr(why));
    }
  };
  refused([](EyeInput& i) { i.code = cv::Mat(64, 64, CV_8U); }, "code is not CV_8UC3");
  refused([](EyeInput& i) { i.code = cv::Mat(0, 0, CV_8UC3); }, "code is empty");
  refused([](EyeInput& i) { i.known = cv::Mat(64, 63, CV_8U); }, "known is not of the picture's size");
  refused([](EyeInput& i) { i.ink = cv::Mat(64, 64, CV_32F); }, "ink is not CV_8U");
  refused([](EyeInput& i) { i.unseen = cv::Mat(); }, "unseen is not of the picture's size");
  refused([](EyeInput& i) { i.mm_per_px = 0; }, "mm_per_px is 0");
  refused([](EyeInput& i) { i.mm_per_px = 100.5; }, "mm_per_px is 100.5");
}

}  // namespace
}  // namespace chalkfold::trace
