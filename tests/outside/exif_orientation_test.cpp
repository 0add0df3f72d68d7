// SPDX-License-Identifier: Apache-2.0
// Real photographs stored in every EXIF orientation. Source: recurser/exif-orientation-examples (MIT licence), not
// committed.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <opencv2/imgproc.hpp>
#include <string>
#include <tuple>

#include "pipeline/capture/photo.h"
#include "tests/shared_data.h"

namespace chalkfold {
namespace {

// The pictures are one photograph with the number of the orientation written on it, packed anew each time. Upright they
// correlate nearly fully; in any other turn the sky lies elsewhere.
constexpr double min_upright_correlation = 0.95;

// px, both sides: so coarse that compression and the painted number do not matter. Square, so that all eight turns can
// be compared.
constexpr int side_px = 64;

cv::Mat small_grey(const cv::Mat& bgr) {
  cv::Mat grey;
  cv::cvtColor(bgr, grey, cv::COLOR_BGR2GRAY);
  cv::resize(grey, grey, {side_px, side_px}, 0, 0, cv::INTER_AREA);
  return grey;
}

double correlation(const cv::Mat& a, const cv::Mat& b) {
  cv::Mat result;
  cv::matchTemplate(a, b, result, cv::TM_CCOEFF_NORMED);
  return result.at<float>(0, 0);
}

class ExifOrientation : public testing::TestWithParam<std::tuple<const char*, int>> {};
INSTANTIATE_TEST_SUITE_P(Photographs, ExifOrientation,
                         testing::Combine(testing::Values("Landscape", "Portrait"), testing::Range(0, 9)));

TEST_P(ExifOrientation, ComesOutUpright) {
  const auto shared = shared_data();
  if (!shared) GTEST_SKIP() << no_shared_data;
  const auto [shape, orientation] = GetParam();
  const auto file_of = [&](int number) { return *shared / "check" / "exif" / fmt::format("{}_{}.jpg", shape, number); };
  const capture::LoadResult reference = capture::load_photo(file_of(1)),
                            loaded = capture::load_photo(file_of(orientation));
  ASSERT_TRUE(reference.photo);
  ASSERT_TRUE(loaded.photo) << (loaded.faults.empty() ? "" : loaded.faults[0].seen);
  EXPECT_TRUE(loaded.faults.empty());
  EXPECT_EQ(loaded.photo->exif.orientation, std::max(orientation, 1));  // 0 is not an orientation
  EXPECT_EQ(loaded.photo->bgr.size(), reference.photo->bgr.size());

  const cv::Mat upright_picture = small_grey(reference.photo->bgr), picture = small_grey(loaded.photo->bgr);
  const double as_loaded = correlation(picture, upright_picture);
  EXPECT_GT(as_loaded, min_upright_correlation);
  for (int turn = 2; turn <= 8; ++turn)
    EXPECT_LT(correlation(capture::upright(picture, turn), upright_picture), as_loaded) << "turned by " << turn;
}

}  // namespace
}  // namespace chalkfold
