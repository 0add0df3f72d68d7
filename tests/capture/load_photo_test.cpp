// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "pipeline/capture/photo.h"
#include "pipeline/capture/sha256.h"
#include "tests/capture/picture_files.h"

namespace chalkfold::capture {
namespace {

using picture_files::FileBytes;

// Coded values, mean over the flag: JPEG and HEVC at the quality used stay below 4 there, a wrong turn is above 50.
constexpr double max_lossy_difference = 10;

LoadOptions any_size() {
  LoadOptions options;
  options.min_megapixels = 0;
  return options;
}

PhotoExif camera(int orientation = 1) {
  PhotoExif exif;
  exif.make = "Maker";
  exif.model = "Phone 7";
  exif.focal_mm = 4.25;
  exif.focal_35mm = 26;
  exif.digital_zoom = 1.5;
  exif.orientation = orientation;
  return exif;
}

double mean_difference(const cv::Mat& a, const cv::Mat& b) {
  return cv::norm(a, b, cv::NORM_L1) / static_cast<double>(a.total() * static_cast<std::size_t>(a.channels()));
}

/// Loads the bytes as a file of that name; a failure prints the faults.
Photo load(const std::string& name, const FileBytes& bytes) {
  const picture_files::TemporaryFolder folder;
  LoadResult result = load_photo(folder.write(name, bytes), any_size());
  for (const Fault& fault : result.faults) ADD_FAILURE() << fault.code << ": " << fault.seen;
  return result.photo.value_or(Photo{});
}

/// Every format keeps the camera's words and ends up upright.
void expect_upright_flag(const Photo& photo, int orientation, double tolerance) {
  const cv::Mat flag = picture_files::flag();
  ASSERT_EQ(photo.bgr.type(), CV_8UC3);
  ASSERT_EQ(photo.bgr.size(), flag.size()) << "orientation " << orientation;
  EXPECT_LE(mean_difference(photo.bgr, flag), tolerance) << "orientation " << orientation;
  EXPECT_EQ(photo.intact_part, cv::Rect({0, 0}, flag.size()));
  EXPECT_EQ(photo.intact, 1);
  EXPECT_EQ(photo.exif.orientation, orientation);
  EXPECT_EQ(photo.exif.make, "Maker");
  EXPECT_EQ(photo.exif.model, "Phone 7");
  EXPECT_DOUBLE_EQ(photo.exif.focal_mm, 4.25);
  EXPECT_DOUBLE_EQ(photo.exif.focal_35mm, 26);
  EXPECT_DOUBLE_EQ(photo.exif.digital_zoom, 1.5);
}

class EveryOrientation : public testing::TestWithParam<int> {
 protected:
  cv::Mat stored() const { return picture_files::stored_for(picture_files::flag(), GetParam()); }
  FileBytes block() const { return picture_files::exif_block(camera(GetParam())); }
};
INSTANTIATE_TEST_SUITE_P(Exif, EveryOrientation, testing::Range(1, 9));

TEST_P(EveryOrientation, IsUndoneByUpright) {
  EXPECT_EQ(cv::norm(upright(stored(), GetParam()), picture_files::flag(), cv::NORM_INF), 0);
}

TEST_P(EveryOrientation, IsUndoneInAPng) {
  const FileBytes file = picture_files::png_with_exif(picture_files::encode(".png", stored()), block());
  expect_upright_flag(load("flag.png", file), GetParam(), 0);
}

TEST_P(EveryOrientation, IsUndoneInAJpeg) {
  const FileBytes file = picture_files::jpeg_with_exif(picture_files::encode(".jpg", stored()), block());
  expect_upright_flag(load("flag.jpg", file), GetParam(), max_lossy_difference);
}

TEST_P(EveryOrientation, IsUndoneInAWebp) {
  constexpr int lossless = 101;  // above 100 the encoder changes nothing
  const cv::Mat picture = stored();
  const FileBytes plain = picture_files::encode(".webp", picture, {cv::IMWRITE_WEBP_QUALITY, lossless});
  expect_upright_flag(load("flag.webp", picture_files::webp_with_exif(plain, picture.size(), block())), GetParam(), 0);
}

TEST_P(EveryOrientation, IsUndoneOnceInATiff) {
  const cv::Mat picture = stored();
  expect_upright_flag(load("flag.tif", picture_files::tiff_with_exif(picture, camera(GetParam()))), GetParam(), 0);
  cv::Mat deep;
  picture.convertTo(deep, CV_16U, 257);
  expect_upright_flag(load("deep.tif", picture_files::tiff_with_exif(deep, camera(GetParam()))), GetParam(), 0);
}

TEST_P(EveryOrientation, IsUndoneOnceInAHeic) {
  const auto file = picture_files::heic_with_exif(stored(), camera(GetParam()));
  if (!file) GTEST_SKIP() << "this libheif has no HEVC encoder to write the picture with";
  expect_upright_flag(load("flag.heic", *file), GetParam(), max_lossy_difference);
}

TEST(Upright, TakesAnyOtherOrientationForOne) {
  for (const int other : {-1, 0, 9, 274})
    EXPECT_EQ(cv::norm(upright(picture_files::flag(), other), picture_files::flag(), cv::NORM_INF), 0) << other;
}

TEST(Upright, LeavesTheStoredPictureAlone) {
  const cv::Rect square(0, 0, 64, 64);  // which OpenCV could turn in place
  for (const cv::Mat& flag : {picture_files::flag(), cv::Mat(picture_files::flag()(square).clone())})
    for (int orientation = 1; orientation <= 8; ++orientation) {
      const cv::Mat stored = flag.clone();
      upright(stored, orientation);
      EXPECT_EQ(cv::norm(stored, flag, cv::NORM_INF), 0) << "orientation " << orientation;
    }
}

TEST(LoadPhoto, TakesTheNameAndTheChecksumFromTheFile) {
  const FileBytes bytes = picture_files::encode(".png", picture_files::flag());
  const Photo photo = load("seat top.png", bytes);
  EXPECT_EQ(photo.name, "seat top.png");
  EXPECT_EQ(photo.sha256, sha256_hex(bytes));
}

TEST(LoadPhoto, GoesByContentNotByName) {
  const Photo photo = load("flag.jpg", picture_files::encode(".png", picture_files::flag()));
  EXPECT_EQ(cv::norm(photo.bgr, picture_files::flag(), cv::NORM_INF), 0);
}

TEST(LoadPhoto, LeavesExifAtItsDefaultsWhereTheFileSaysNothing) {
  const Photo photo = load("flag.jpg", picture_files::encode(".jpg", picture_files::flag()));
  EXPECT_EQ(photo.exif.make + photo.exif.model, "");
  EXPECT_EQ(photo.exif.focal_mm, 0);
  EXPECT_EQ(photo.exif.focal_35mm, 0);
  EXPECT_EQ(photo.exif.digital_zoom, 0);
  EXPECT_EQ(photo.exif.orientation, 1);
}

TEST(LoadPhoto, TakesAnOrientationThatDoesNotExistForOne) {
  for (const int stored : {0, 9, 1000}) {
    const FileBytes block = picture_files::exif_block(camera(stored));
    const Photo photo =
        load("flag.png", picture_files::png_with_exif(picture_files::encode(".png", picture_files::flag()), block));
    EXPECT_EQ(photo.exif.orientation, 1) << stored;
    EXPECT_EQ(cv::norm(photo.bgr, picture_files::flag(), cv::NORM_INF), 0) << stored;
  }
}

/// 16-bit values around the borders between 8-bit ones, and what they round to.
TEST(LoadPhoto, RoundsSixteenBitsToEight) {
  cv::Mat deep(64, 96, CV_16UC3), wanted(64, 96, CV_8UC3);
  for (int y = 0; y < deep.rows; ++y)
    for (int x = 0; x < deep.cols; ++x)
      for (int c = 0; c < 3; ++c) {
        const int level = (y * deep.cols + x + 85 * c) % 255;
        const bool up = (x + y + c) % 2 == 0;
        deep.at<cv::Vec3w>(y, x)[c] = static_cast<std::uint16_t>(257 * level + (up ? 129 : 128));
        wanted.at<cv::Vec3b>(y, x)[c] = static_cast<std::uint8_t>(level + (up ? 1 : 0));
      }
  for (const char* ending : {".png", ".tif"}) {
    const Photo photo = load(std::string("deep") + ending, picture_files::encode(ending, deep));
    ASSERT_EQ(photo.bgr.type(), CV_8UC3) << ending;
    EXPECT_EQ(cv::norm(photo.bgr, wanted, cv::NORM_INF), 0) << ending;
  }
}

TEST(LoadPhoto, GivesGreyPicturesThreeEqualChannels) {
  cv::Mat grey, wanted;
  cv::cvtColor(picture_files::flag(), grey, cv::COLOR_BGR2GRAY);
  cv::cvtColor(grey, wanted, cv::COLOR_GRAY2BGR);
  cv::Mat deep;
  grey.convertTo(deep, CV_16U, 257);
  for (const char* ending : {".png", ".tif", ".jpg"}) {
    const Photo photo = load(std::string("grey") + ending, picture_files::encode(ending, grey));
    ASSERT_EQ(photo.bgr.type(), CV_8UC3) << ending;
    EXPECT_LE(mean_difference(photo.bgr, wanted), ending == std::string(".jpg") ? max_lossy_difference : 0) << ending;
  }
  for (const char* ending : {".png", ".tif"})
    EXPECT_EQ(
        cv::norm(load(std::string("deep") + ending, picture_files::encode(ending, deep)).bgr, wanted, cv::NORM_INF), 0);
}

TEST(LoadPhoto, LaysTransparentPicturesOnWhite) {
  cv::Mat image(64, 96, CV_8UC4, cv::Scalar(10, 20, 30, 255));
  image(cv::Rect(0, 0, 48, 64)).setTo(cv::Scalar(10, 20, 30, 0));
  image(cv::Rect(0, 0, 48, 32)).setTo(cv::Scalar(10, 20, 30, 51));  // one fifth
  const Photo photo = load("cut-out.png", picture_files::encode(".png", image));
  ASSERT_EQ(photo.bgr.type(), CV_8UC3);
  EXPECT_EQ(photo.bgr.at<cv::Vec3b>(10, 90), cv::Vec3b(10, 20, 30));
  EXPECT_EQ(photo.bgr.at<cv::Vec3b>(60, 10), cv::Vec3b(255, 255, 255));
  EXPECT_EQ(photo.bgr.at<cv::Vec3b>(10, 10), cv::Vec3b(206, 208, 210));
}

}  // namespace
}  // namespace chalkfold::capture
