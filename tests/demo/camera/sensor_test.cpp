// SPDX-License-Identifier: Apache-2.0
#include "demo/camera/sensor.h"

#include <gtest/gtest.h>

#include <cmath>

namespace chalkfold::demo {
namespace {

double srgb(double v) { return 255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * std::pow(v, 1 / 2.4) - 0.055); }

TEST(Developed, CodesFlatLightAsSrgbWithoutNoiseByDefault) {
  for (const double v : {0.001, 0.02, 0.18, 0.5, 0.9, 1.4}) {
    const cv::Mat out = developed(cv::Mat(40, 50, CV_32FC3, cv::Scalar::all(v)), Sensor{}, 1);
    double low = 0, high = 0;
    cv::minMaxLoc(out.reshape(1), &low, &high);
    EXPECT_EQ(low, high);
    constexpr double half_step = 0.51;  // rounding to a whole code, and the table's own 0.01
    EXPECT_NEAR(low, srgb(std::min(v, 1.0)), half_step) << v;
  }
}

TEST(Developed, NoiseHasTheSigmaOfShotAndRead) {
  Sensor s;
  s.shot_noise = 0.0004;
  s.read_noise = 0.005;
  constexpr double level = 0.3;
  const cv::Mat out = developed(cv::Mat(300, 300, CV_32FC3, cv::Scalar::all(level)), s, 2);
  cv::Scalar mean, sigma;
  cv::meanStdDev(out, mean, sigma);
  const double slope = (srgb(level + 1e-4) - srgb(level - 1e-4)) / 2e-4;
  const double expected =
      std::hypot(slope * std::sqrt(s.shot_noise * level + s.read_noise * s.read_noise), std::sqrt(1 / 12.0));
  constexpr double share = 0.02;  // 90000 samples give 0.25 %; the curve's bend and rounding the rest
  for (int c = 0; c < 3; ++c) EXPECT_NEAR(sigma[c], expected, share * expected);
}

TEST(Blurred, SpreadsAPointByItsSigma) {
  Sensor s;
  s.blur_px = 1.5;
  cv::Mat light(41, 41, CV_32FC3, cv::Scalar::all(0));
  light.at<cv::Vec3f>(20, 20) = {1, 1, 1};
  const cv::Mat out = blurred(light, s);
  double sum = 0, second = 0;
  for (int y = 0; y < out.rows; ++y) {
    for (int x = 0; x < out.cols; ++x) {
      sum += out.at<cv::Vec3f>(y, x)[1];
      second += out.at<cv::Vec3f>(y, x)[1] * (x - 20.0) * (x - 20.0);
    }
  }
  EXPECT_NEAR(sum, 1, 1e-5);
  EXPECT_NEAR(std::sqrt(second / sum), 1.5, 0.01);  // kernel cut at four sigma
}

TEST(Developed, BandsLeaveNoSeams) {
  Sensor s;
  s.sharpening = 0.3;
  cv::Mat light(300, 20, CV_32FC3);
  for (int y = 0; y < light.rows; ++y) light.row(y).setTo(cv::Scalar::all(0.2 + 0.002 * y));
  const cv::Mat out = developed(light, s, 1);
  for (int y = 6; y + 7 < out.rows; ++y)
    EXPECT_LE(std::abs(out.at<cv::Vec3b>(y + 1, 9)[0] - out.at<cv::Vec3b>(y, 9)[0]), 1) << y;
}

}  // namespace
}  // namespace chalkfold::demo
