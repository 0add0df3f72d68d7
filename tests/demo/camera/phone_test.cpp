// SPDX-License-Identifier: Apache-2.0
#include "demo/camera/phone.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <set>

#include "demo/camera/photo_file.h"
#include "demo/scenes/scenes.h"
#include "pipeline/common/error.h"

namespace chalkfold::demo {
namespace {

/// Of a phone that does nothing but read its mosaic.
PhoneOptions bare() { return {.iso = 25, .blur_px = 0, .denoise = 0, .local = 0, .sharpen = 0}; }

/// Light right of a line through the picture's middle, x = middle + lean y, each pixel the mean over its square.
cv::Mat edge_light(double dark, double bright, double lean) {
  cv::Mat out(96, 128, CV_32FC3);
  constexpr int parts = 16;
  for (int y = 0; y < out.rows; ++y) {
    for (int x = 0; x < out.cols; ++x) {
      int lit = 0;
      for (int k = 0; k < parts * parts; ++k) {
        const double px = x - 0.5 + (k % parts + 0.5) / parts - out.cols / 2.0,
                     py = y - 0.5 + (k / parts + 0.5) / parts - out.rows / 2.0;
        lit += px > lean * py;
      }
      const auto v = static_cast<float>(dark + (bright - dark) * lit / (parts * parts));
      out.at<cv::Vec3f>(y, x) = {v, v, v};
    }
  }
  return out;
}

/// Mean over the rows of the place where the channel crosses `level`, from where the true edge runs.
double edge_offset(const cv::Mat& picture, int channel, double lean, double level) {
  double sum = 0;
  int rows = 0;
  for (int y = 8; y < picture.rows - 8; ++y, ++rows) {
    const auto at = [&](int x) { return static_cast<double>(picture.at<cv::Vec3b>(y, x)[channel]); };
    int x = picture.cols / 2 - 14;
    while (at(x + 1) < level) ++x;
    sum += x + (level - at(x)) / (at(x + 1) - at(x)) - picture.cols / 2.0 - lean * (y - picture.rows / 2.0);
  }
  return sum / rows;
}

/// The code that a phone gives flat light.
double code_of(double light, PhoneOptions phone) {
  phone.local = 0;
  return cv::mean(phone_picture(cv::Mat(64, 64, CV_32FC3, cv::Scalar::all(light)), phone, 9))[1];
}

cv::Scalar sigma_of(const cv::Mat& picture) {
  cv::Scalar mean, sigma;
  cv::meanStdDev(picture, mean, sigma);
  return sigma;
}

TEST(PhonePicture, KeepsFlatGreyGrey) {
  for (const double v : {0.02, 0.18, 0.6}) {
    const cv::Mat out = phone_picture(cv::Mat(64, 80, CV_32FC3, cv::Scalar::all(v)), bare(), 1);
    cv::Scalar mean, sigma;
    cv::meanStdDev(out, mean, sigma);
    constexpr double codes = 0.6;  // rounding, and the curve's bend under what noise is left
    EXPECT_NEAR(mean[0], mean[1], codes) << v;
    EXPECT_NEAR(mean[2], mean[1], codes) << v;
  }
}

TEST(PhonePicture, DemosaicsALinearRampWithoutError) {
  cv::Mat light(64, 80, CV_32FC3);
  for (int y = 0; y < light.rows; ++y) {
    for (int x = 0; x < light.cols; ++x)
      light.at<cv::Vec3f>(y, x) = cv::Vec3f::all(0.1F + 0.004F * static_cast<float>(x + y));
  }
  const cv::Mat out = phone_picture(light, bare(), 1);
  constexpr int codes = 4;  // noise at iso 25: sigma 1
  for (int y = 4; y < out.rows - 4; ++y) {
    for (int x = 4; x < out.cols - 4; ++x) {
      const auto& c = out.at<cv::Vec3b>(y, x);
      ASSERT_LE(std::max({c[0], c[1], c[2]}) - std::min({c[0], c[1], c[2]}), 2 * codes) << x << ", " << y;
    }
  }
}

TEST(PhonePicture, LeavesEdgesWhereTheyAre) {
  constexpr double lean = 0.17, dark = 0.1, bright = 0.4;
  const cv::Mat light = edge_light(dark, bright, lean);
  for (const double motion : {0.0, 2.4}) {
    PhoneOptions o;
    o.iso = 50;
    o.local = 0;
    o.motion_px = motion;
    o.motion_direction = 0.6;
    const cv::Mat out = phone_picture(light, o, 3);
    const double middle = code_of((dark + bright) / 2, o);
    // Halos are added after the coding is bent, larger on the bright side.
    constexpr double place_px = 0.08;
    for (int channel = 0; channel < 3; ++channel)
      EXPECT_NEAR(edge_offset(out, channel, lean, middle), 0, place_px)
          << "channel " << channel << ", motion " << motion;
  }
}

TEST(PhonePicture, IsAsSharpAsPhonesAre) {
  constexpr double lean = 0.17, dark = 0.05, bright = 0.5;
  cv::Mat light = edge_light(dark, bright, lean);
  cv::GaussianBlur(light, light, {0, 0}, Sensor{}.blur_px);
  PhoneOptions o;
  o.local = 0;
  const cv::Mat out = phone_picture(light, o, 3);
  const double low = code_of(dark, o), high = code_of(bright, o), step = high - low;
  const double width = edge_offset(out, 1, lean, low + 0.9 * step) - edge_offset(out, 1, lean, low + 0.1 * step);
  EXPECT_GT(width, 1.2);  // both bounds: see PhoneOptions
  EXPECT_LT(width, 2.2);
}

TEST(PhonePicture, DrawsRedLargerAndBlueSmaller) {
  // An edge far from the middle: the light's picture is the left part of a wide one.
  cv::Mat light(256, 512, CV_32FC3, cv::Scalar::all(0.1));
  constexpr int edge_column = 480;
  light.colRange(edge_column, light.cols).setTo(cv::Scalar::all(0.4));
  PhoneOptions o = bare();
  o.blur_px = 4;  // demosaicing draws the colours of a sharp edge to each other
  const auto place = [&](const cv::Mat& picture, int channel) {
    double sum = 0;
    for (int y = 8; y < 248; ++y) {
      const auto at = [&](int x) { return static_cast<double>(picture.at<cv::Vec3b>(y, x)[channel]); };
      const double middle = (at(edge_column - 24) + at(edge_column + 24)) / 2;
      int x = edge_column - 12;
      while (at(x + 1) < middle) ++x;
      sum += x + (middle - at(x)) / (at(x + 1) - at(x));
    }
    return sum / 240;
  };
  const cv::Mat plain = phone_picture(light, o, 5);
  o.lateral_colour_px = 0.7;
  const cv::Mat coloured = phone_picture(light, o, 5);
  const double cx = (light.cols - 1) / 2.0,
               expected = 0.7 * (edge_column - cx) / std::hypot(cx, (light.rows - 1) / 2.0);
  constexpr double place_px = 0.06;  // the warp moves in steps of 1/32 px, 3 % are lost to demosaicing
  EXPECT_NEAR(place(coloured, 2) - place(plain, 2), expected, place_px);
  EXPECT_NEAR(place(coloured, 0) - place(plain, 0), -expected, place_px);
}

TEST(PhonePicture, IsNoisierAtHigherIso) {
  const cv::Mat light(96, 96, CV_32FC3, cv::Scalar::all(0.2));
  PhoneOptions low = bare(), high = bare();
  low.iso = 100;
  high.iso = 1600;
  const double quiet = sigma_of(phone_picture(light, low, 1))[1], loud = sigma_of(phone_picture(light, high, 1))[1];
  // Variance of the model at iso 100: 1.2e-4 of the light and (6e-4)^2; the first grows as iso, the second as its square.
  const double shot = 1.2e-4 * 0.2, read = 6e-4 * 6e-4;
  constexpr double share = 0.03;  // 9216 pixels, correlated by the demosaicing
  const double expected = std::sqrt((16 * shot + 256 * read) / (shot + read));
  EXPECT_NEAR(loud / quiet, expected, share * expected);
  high.denoise = 1;
  EXPECT_LT(sigma_of(phone_picture(light, high, 1))[1], 0.7 * loud);
}

TEST(PhonePicture, SharpensWithHalosOnBothSides) {
  const cv::Mat light = edge_light(0.05, 0.4, 0);
  PhoneOptions o = bare();
  o.blur_px = 0.7;
  const cv::Mat plain = phone_picture(light, o, 1);
  o.sharpen = 1;
  const cv::Mat sharp = phone_picture(light, o, 1);
  double low_before = 255, high_before = 0, low = 255, high = 0;
  cv::Mat mean_before, mean;
  cv::reduce(plain.reshape(1).colRange(3 * 40, 3 * 88), mean_before, 0, cv::REDUCE_AVG, CV_32F);
  cv::reduce(sharp.reshape(1).colRange(3 * 40, 3 * 88), mean, 0, cv::REDUCE_AVG, CV_32F);
  cv::minMaxLoc(mean_before, &low_before, &high_before);
  cv::minMaxLoc(mean, &low, &high);
  const double step = high_before - low_before;
  EXPECT_GT(high - high_before, 0.02 * step);
  EXPECT_LT(high - high_before, 0.15 * step);
  EXPECT_GT(low_before - low, 0.01 * step);
  EXPECT_LT(low_before - low, 0.10 * step);
}

TEST(PhonePicture, DrawsLargeRegionsTogether) {
  cv::Mat light(512, 1024, CV_32FC3, cv::Scalar::all(0.05));
  light.colRange(512, 1024).setTo(cv::Scalar::all(0.5));
  PhoneOptions o;
  const auto contrast = [&](double local) {
    o.local = local;
    const cv::Mat out = phone_picture(light, o, 1);
    return cv::mean(out.colRange(900, 1000))[1] - cv::mean(out.colRange(20, 120))[1];
  };
  EXPECT_LT(contrast(1), 0.75 * contrast(0));
}

TEST(PhonePicture, IsTheSameForAnyNumberOfThreads) {
  const cv::Mat light = edge_light(0.1, 0.5, 0.3);
  const PhoneOptions o = random_phone(4);
  const int threads = cv::getNumThreads();
  const cv::Mat many = phone_picture(light, o, 4);
  cv::setNumThreads(1);
  const cv::Mat one = phone_picture(light, o, 4), other = phone_picture(light, o, 5);
  cv::setNumThreads(threads);
  EXPECT_EQ(cv::norm(many, one, cv::NORM_L1), 0);
  EXPECT_NE(cv::norm(other, one, cv::NORM_L1), 0) << "another seed, other noise";
}

TEST(PhoneOptions, AreHeldToTheirBounds) {
  EXPECT_NO_THROW(PhoneOptions{}.check());
  PhoneOptions o;
  o.quality = 20;
  EXPECT_THROW(o.check(), UsageError);
  o = {};
  o.motion_px = std::nan("");
  EXPECT_THROW(o.check(), UsageError);
}

TEST(RandomPhone, StaysInAPhonesRangeAndUsesIt) {
  double lowest_iso = 1e9, highest_iso = 0;
  std::set<int> qualities;
  for (std::uint64_t seed = 1; seed <= 400; ++seed) {
    const PhoneOptions o = random_phone(seed);
    EXPECT_NO_THROW(o.check());
    lowest_iso = std::min(lowest_iso, o.iso);
    highest_iso = std::max(highest_iso, o.iso);
    qualities.insert(o.quality);
    EXPECT_TRUE(o.sharpen >= 0.6 && o.sharpen <= 1.6 && o.local >= 0 && o.local <= 1) << seed;
    EXPECT_TRUE(o.motion_px >= 0 && o.motion_px <= 3 && o.lateral_colour_px >= 0 && o.lateral_colour_px <= 0.7) << seed;
  }
  EXPECT_TRUE(lowest_iso >= 100 && lowest_iso < 110 && highest_iso <= 1600 && highest_iso > 1450);
  EXPECT_EQ(qualities.size(), 16U);
  EXPECT_EQ(*qualities.begin(), 80);
}

/// How many times finer brightness is coded than colour, across and down.
std::pair<int, int> colour_halving(const std::string& jpeg) {
  for (std::size_t i = 2; i + 13 < jpeg.size();) {
    const auto byte = [&](std::size_t k) { return static_cast<unsigned char>(jpeg[k]); };
    if (byte(i + 1) == 0xC0)
      return {(byte(i + 11) >> 4) / (byte(i + 14) >> 4), (byte(i + 11) & 15) / (byte(i + 14) & 15)};
    i += 2 + static_cast<std::size_t>(256 * byte(i + 2) + byte(i + 3));
  }
  return {0, 0};
}

TEST(WritePhoto, TellsOfThePhoneInTheTruth) {
  const auto folder = std::filesystem::path(testing::TempDir()) / ("chalkfold-demo-phone-" + std::to_string(getpid()));
  const Scene scene = flag_scene(3, 640);
  PhoneOptions phone = random_phone(scene.seed);
  phone.quality = 84;
  write_photo(scene, folder, phone);
  std::ifstream truth_file(folder / (scene.name + ".truth.json")),
      photo(folder / (scene.name + ".jpg"), std::ios::binary);
  const nlohmann::json told = nlohmann::json::parse(truth_file);
  EXPECT_EQ(told["phone"]["iso"], phone.iso);
  EXPECT_EQ(told["phone"]["quality"], 84);
  EXPECT_EQ(told["phone"]["motion_px"], phone.motion_px);
  const std::string jpeg{std::istreambuf_iterator<char>(photo), {}};
  EXPECT_EQ(colour_halving(jpeg), std::pair(2, 2));
  std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace chalkfold::demo
