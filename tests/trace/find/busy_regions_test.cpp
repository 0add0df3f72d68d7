// SPDX-License-Identifier: Apache-2.0
// Patterns that share a colour with the table. busy_regions itself is tried on whole pictures in busy_panel_test.cpp.
#include "pipeline/trace/find/busy_regions.h"

#include <gtest/gtest.h>

#include "tests/trace/find/drawn_maps.h"

namespace chalkfold::trace {
namespace {

using namespace test;

TEST(Mingled, ACheckThatSharesAColourWithTheTableIs) {
  const cv::Rect panel(60, 50, 200, 150);
  cv::Mat other = cv::Mat::zeros(size, CV_8U);
  constexpr int cell = 13;  // mm
  for (int y = panel.y; y < panel.br().y; ++y)
    for (int x = panel.x; x < panel.br().x; ++x)
      if ((x / cell) % 2 == 0 && (y / cell) % 2 == 0) other.at<unsigned char>(y, x) = 255;
  EXPECT_TRUE(mingled(filled(panel), other, 1));
}

TEST(Mingled, AShadowAcrossAndSpecksOfNoiseAreNot) {
  const cv::Rect panel(60, 50, 200, 150);
  EXPECT_FALSE(mingled(filled(panel), filled({120, 50, 70, 150}), 1)) << "one band of another light";
  EXPECT_FALSE(mingled(filled(panel), filled(panel), 1)) << "no colour shared";
  cv::Mat specks = cv::Mat::zeros(size, CV_8U);
  for (int y = 50; y < 200; y += 7)
    for (int x = 60; x < 260; x += 7) specks.at<unsigned char>(y, x) = 255;
  EXPECT_FALSE(mingled(filled(panel), specks, 1));
}

}  // namespace
}  // namespace chalkfold::trace
