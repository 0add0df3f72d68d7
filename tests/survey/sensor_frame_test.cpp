// SPDX-License-Identifier: Apache-2.0
#include "pipeline/survey/sensor_frame.h"

#include <gtest/gtest.h>

#include <opencv2/core.hpp>

#include "pipeline/capture/photo.h"

namespace chalkfold::survey {
namespace {

class SensorFrameTurns : public testing::TestWithParam<int> {};
INSTANTIATE_TEST_SUITE_P(Orientations, SensorFrameTurns, testing::Values(1, 3, 6, 8));

// The oracle is the capture room's own turning of pixels: each stored pixel must land where the frame says.
TEST_P(SensorFrameTurns, FollowThePixelsThatCaptureTurns) {
  const int columns = 5, rows = 3;
  const int turns = quarter_turns_of_orientation(GetParam());
  for (int y = 0; y < rows; ++y) {
    for (int x = 0; x < columns; ++x) {
      cv::Mat stored = cv::Mat::zeros(rows, columns, CV_8UC3);
      stored.at<cv::Vec3b>(y, x) = {255, 255, 255};
      const cv::Mat turned = capture::upright(stored, GetParam());
      const SensorFrame frame{turned.cols, turned.rows, turns};
      EXPECT_EQ(frame.sensor_width(), columns);
      EXPECT_EQ(frame.sensor_height(), rows);
      const Vec2 p = frame.photo_from_sensor(Vec2(x, y));
      ASSERT_TRUE(p.minCoeff() >= 0 && p.x() < turned.cols && p.y() < turned.rows);
      EXPECT_EQ(turned.at<cv::Vec3b>(static_cast<int>(p.y()), static_cast<int>(p.x()))[0], 255) << x << ' ' << y;
      EXPECT_EQ(frame.sensor_from_photo(p), Vec2(x, y));
    }
  }
}

}  // namespace
}  // namespace chalkfold::survey
