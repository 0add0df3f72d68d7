// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/eye/eye.h"

#include <gtest/gtest.h>

#include <cstring>
#include <opencv2/core/utility.hpp>
#include <thread>
#include <vector>

#include "pipeline/common/require.h"
#include "tests/trace/eye/table_picture.h"

namespace chalkfold::trace {
namespace {

std::vector<cv::Mat> all(const EyeMaps& maps) {
  return {maps.table, maps.panel, maps.paper, maps.thing, maps.edge, maps.shadow};
}

void expect_same_bytes(const EyeMaps& a, const EyeMaps& b) {
  for (std::size_t c = 0; c < 6; ++c) {
    const cv::Mat one = all(a)[c], other = all(b)[c];
    ASSERT_EQ(one.size(), other.size());
    for (int y = 0; y < one.rows; ++y)
      ASSERT_EQ(std::memcmp(one.ptr(y), other.ptr(y), static_cast<std::size_t>(one.cols) * sizeof(float)), 0)
          << "map " << c << ", row " << y;
  }
}

EyeMaps look_with_threads(const EyeInput& input, int threads) {
  const int before = cv::getNumThreads();
  cv::setNumThreads(threads);
  EyeMaps out = look(input);
  cv::setNumThreads(before);
  return out;
}

TEST(Eye, SameBytesWhateverTheNumberOfThreads) {
  const EyeInput input = table_picture({300, 230});
  const EyeMaps one = look_with_threads(input, 1);
  for (const int threads : {2, 4}) expect_same_bytes(one, look_with_threads(input, threads));
}

TEST(Eye, SameBytesFromSeveralCallersAtATime) {
  const EyeInput small = table_picture({128, 100}), large = table_picture({300, 230});
  const EyeMaps one = look_with_threads(large, 1);
  std::vector<EyeMaps> out(4);
  std::vector<std::thread> callers;
  for (EyeMaps& maps : out) callers.emplace_back([&] { maps = look(&maps == &out[0] ? small : large); });
  for (std::thread& caller : callers) caller.join();
  for (std::size_t k = 1; k < out.size(); ++k) expect_same_bytes(one, out[k]);
}

TEST(Eye, SeesAPanelOnATable) {
  // Nothing subtle: dark on grey, with a sheet's white beside it.
  const EyeInput input = table_picture({320, 240});
  const EyeMaps maps = look(input);
  EXPECT_GT(maps.panel.at<float>(120, 190), 0.5);
  EXPECT_GT(maps.table.at<float>(210, 300), 0.5);
  EXPECT_GT(maps.paper.at<float>(60, 60), 0.5);
  EXPECT_GT(maps.edge.at<float>(120, 106), maps.edge.at<float>(120, 190));
}

TEST(Eye, SizeOfAPixelReachesTheNetwork) {
  EyeInput input = table_picture({64, 64});
  const float before = look(input).panel.at<float>(32, 32);
  input.mm_per_px = 2.5;
  EXPECT_NE(look(input).panel.at<float>(32, 32), before);
}

TEST(Eye, AnySizeIsFilledUpWithUnseen) {
  for (const cv::Size size : {cv::Size(1, 1), cv::Size(70, 129), cv::Size(64, 128)}) {
    const EyeInput input = table_picture(size);
    EyeInput filled = input;
    const cv::Size whole((size.width + 63) / 64 * 64, (size.height + 63) / 64 * 64);
    const auto fill = [&](cv::Mat& m, int value) {
      cv::copyMakeBorder(m, m, 0, whole.height - size.height, 0, whole.width - size.width, cv::BORDER_CONSTANT,
                         cv::Scalar::all(value));
    };
    fill(filled.code, 99);
    fill(filled.known, 0);
    fill(filled.ink, 0);
    fill(filled.unseen, 255);
    EyeMaps expected = look(filled);
    for (cv::Mat* map :
         {&expected.table, &expected.panel, &expected.paper, &expected.thing, &expected.edge, &expected.shadow})
      *map = (*map)(cv::Rect({}, size));
    const EyeMaps got = look(input);
    EXPECT_EQ(got.panel.size(), size);
    expect_same_bytes(expected, got);
  }
}

TEST(Eye, ProbabilitiesAreSuch) {
  EyeInput input = table_picture({150, 90});
  const auto check = [](const EyeMaps& maps) {
    constexpr double float_rounding = 1e-6;
    cv::Mat whole = maps.table + maps.panel + maps.paper + maps.thing;
    double least = 0, most = 0;
    cv::minMaxLoc(whole, &least, &most);
    EXPECT_NEAR(least, 1, float_rounding);
    EXPECT_NEAR(most, 1, float_rounding);
    for (const cv::Mat& map : all(maps)) {
      EXPECT_EQ(map.type(), CV_32F);
      EXPECT_TRUE(cv::checkRange(map, true, nullptr, 0, 1 + float_rounding));
    }
  };
  check(look(input));
  input.unseen = 255;
  check(look(input));
}

TEST(Eye, WhereNothingIsSeenTheCodesDoNotCount) {
  EyeInput one = table_picture({130, 70}), other = one;
  one.unseen = 255;
  other.unseen = 255;
  other.code = cv::Scalar(1, 200, 90);
  expect_same_bytes(look(one), look(other));
}

TEST(Eye, RefusesMasksOfAnotherSize) {
  EyeInput input = table_picture({64, 64});
  input.known = cv::Mat::zeros(64, 65, CV_8U);
  EXPECT_THROW(look(input), PreconditionError);
}

}  // namespace
}  // namespace chalkfold::trace
