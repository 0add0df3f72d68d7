// SPDX-License-Identifier: Apache-2.0
#include "pipeline/capture/jpeg_reader.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "pipeline/capture/photo.h"
#include "tests/capture/picture_files.h"

namespace chalkfold::capture {
namespace {

using picture_files::FileBytes;

const cv::Size size{400, 320};
// Rows of one line of blocks in a picture with halved colour, as imencode writes it.
constexpr int block_rows = 16;

FileBytes cut(const FileBytes& file, double share) {
  return {file.begin(), file.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(file.size()))};
}

double worst_difference(const cv::Mat& a, const cv::Mat& b) { return cv::norm(a, b, cv::NORM_INF); }

FileBytes plain() { return picture_files::encode(".jpg", picture_files::texture(size)); }
FileBytes progressive() {
  return picture_files::encode(".jpg", picture_files::texture(size), {cv::IMWRITE_JPEG_PROGRESSIVE, 1});
}
FileBytes restarting() {
  return picture_files::encode(".jpg", picture_files::texture(size), {cv::IMWRITE_JPEG_RST_INTERVAL, 5});
}

TEST(JpegIsComplete, TellsWholeFilesFromCutOnes) {
  for (const FileBytes& whole : {plain(), progressive(), restarting()}) {
    EXPECT_TRUE(jpeg_is_complete(whole));
    FileBytes followed = whole;
    followed.insert(followed.end(), 5000, 0x41);  // a film or maker's data after the picture
    EXPECT_TRUE(jpeg_is_complete(followed));
    for (const double share : {0.01, 0.1, 0.5, 0.9, 0.999}) EXPECT_FALSE(jpeg_is_complete(cut(whole, share))) << share;
    EXPECT_FALSE(jpeg_is_complete(FileBytes(whole.begin(), whole.end() - 2)));
  }
}

TEST(JpegIsComplete, IsNotDeceivedByTheThumbnailOfACutFile) {
  const FileBytes thumbnail = picture_files::encode(".jpg", picture_files::flag());
  ASSERT_TRUE(jpeg_is_complete(thumbnail));
  EXPECT_FALSE(jpeg_is_complete(cut(picture_files::jpeg_with_exif(plain(), thumbnail), 0.7)));
}

/// The rows that count as whole must be those of the whole file, and of a plain file their share must be near that of
/// the bytes.
void expect_rows_as_in_the_whole_file(const FileBytes& whole, double share) {
  const cv::Mat truth = cv::imdecode(whole, cv::IMREAD_COLOR);
  const PartialJpeg partial = read_jpeg(cut(whole, share));
  ASSERT_EQ(partial.bgr.size(), size);
  // Texture fills the file evenly; headers, and the line of blocks lost with the cut, take their part.
  EXPECT_NEAR(partial.whole_rows, share * size.height, 2 * block_rows) << share;
  const cv::Range whole_rows(0, partial.whole_rows), lost_rows(partial.whole_rows, size.height);
  EXPECT_EQ(worst_difference(partial.bgr.rowRange(whole_rows), truth.rowRange(whole_rows)), 0) << share;
  EXPECT_EQ(cv::norm(partial.bgr.rowRange(lost_rows), cv::NORM_INF), 0) << share;
}

// ITU-T T.81, annex K: tables K.1 and K.2, which libjpeg takes as they are for its quality 50; the five lowest frequencies (from memory).
TEST(JpegCoding, GivesTheStepsOfTheLowestFrequencies) {
  const cv::Mat flat(64, 64, CV_8UC3, cv::Scalar(40, 90, 160));
  std::vector<std::uint8_t> file;
  cv::imencode(".jpg", flat, file, {cv::IMWRITE_JPEG_QUALITY, 50});
  const CodingSteps coding = read_jpeg(file).coding;
  EXPECT_DOUBLE_EQ(coding.light, (11 + 12 + 14 + 12 + 10) / 5.0);
  EXPECT_DOUBLE_EQ(coding.colour, (18 + 18 + 24 + 21 + 24) / 5.0);
  cv::imencode(".jpg", cv::Mat(64, 64, CV_8UC1, cv::Scalar(90)), file, {cv::IMWRITE_JPEG_QUALITY, 50});
  EXPECT_DOUBLE_EQ(read_jpeg(file).coding.light, coding.light);
  EXPECT_EQ(read_jpeg(file).coding.colour, 0);
  file.resize(20);
  EXPECT_EQ(read_jpeg(file).coding.light, 0);
}

TEST(ReadJpeg, GivesOfAWholeFileThePixelsThatOpenCvGives) {
  cv::Mat grey;
  cv::cvtColor(cv::imdecode(plain(), cv::IMREAD_COLOR), grey, cv::COLOR_BGR2GRAY);
  for (const FileBytes& whole : {plain(), restarting(), progressive(), picture_files::encode(".jpg", grey)}) {
    const PartialJpeg read = read_jpeg(whole);
    EXPECT_EQ(read.whole_rows, size.height);
    EXPECT_EQ(worst_difference(read.bgr, cv::imdecode(whole, cv::IMREAD_COLOR)), 0);
  }
}

TEST(ReadJpeg, CountsTheRowsThatAreWhole) {
  for (const double share : {0.3, 0.5, 0.72, 0.95}) {
    expect_rows_as_in_the_whole_file(plain(), share);
    expect_rows_as_in_the_whole_file(restarting(), share);
  }
}

TEST(ReadJpeg, KeepsEverythingWhenOnlyTheEndMarkerIsMissing) {
  for (const FileBytes& whole : {plain(), progressive()}) {
    const PartialJpeg partial = read_jpeg({whole.data(), whole.size() - 2});
    EXPECT_EQ(partial.whole_rows, size.height);
    EXPECT_EQ(worst_difference(partial.bgr, cv::imdecode(whole, cv::IMREAD_COLOR)), 0);
  }
}

TEST(ReadJpeg, TakesPaddingForNoData) {
  const FileBytes whole = plain();
  const int rows = read_jpeg(cut(whole, 0.6)).whole_rows;
  for (const std::uint8_t padding : {0x00, 0xFF}) {
    FileBytes padded = cut(whole, 0.6);
    padded.resize(whole.size(), padding);
    EXPECT_FALSE(jpeg_is_complete(padded));
    EXPECT_EQ(read_jpeg(padded).whole_rows, rows) << int{padding};
  }
}

TEST(ReadJpeg, CountsOfAProgressiveFileOnlyRowsWithAllDetail) {
  const FileBytes whole = progressive();
  const cv::Mat truth = cv::imdecode(whole, cv::IMREAD_COLOR);
  EXPECT_EQ(read_jpeg(cut(whole, 0.3)).whole_rows, 0);  // coarse passes only
  const PartialJpeg late = read_jpeg(cut(whole, 0.97));
  ASSERT_GT(late.whole_rows, 0);
  ASSERT_LT(late.whole_rows, size.height);
  EXPECT_EQ(worst_difference(late.bgr.rowRange(0, late.whole_rows), truth.rowRange(0, late.whole_rows)), 0);
}

TEST(LoadPhoto, WarnsOfATruncatedPhotoAndShowsWhereItIsWhole) {
  const picture_files::TemporaryFolder folder;
  LoadOptions options;
  options.min_megapixels = 0;
  PhotoExif exif;
  exif.orientation = 6;  // stored rows become columns, the first of them on the right
  const FileBytes whole = picture_files::jpeg_with_exif(plain(), picture_files::exif_block(exif));
  const LoadResult loaded = load_photo(folder.write("seat.jpg", cut(whole, 0.75)), options);
  ASSERT_TRUE(loaded.photo);
  ASSERT_EQ(loaded.faults.size(), 1U);
  EXPECT_EQ(loaded.faults[0].code, "photo-truncated");
  EXPECT_EQ(loaded.faults[0].severity, Severity::warning);
  EXPECT_EQ(loaded.faults[0].photo, "seat.jpg");
  EXPECT_THAT(loaded.faults[0].seen, testing::HasSubstr("of the picture's 320 rows"));
  const Photo& photo = *loaded.photo;
  const int rows = static_cast<int>(std::lround(photo.intact * size.height));
  EXPECT_EQ(photo.intact_part, cv::Rect(size.height - rows, 0, rows, size.width));
  const LoadResult sound = load_photo(folder.write("whole.jpg", whole), options);
  ASSERT_TRUE(sound.photo);
  EXPECT_EQ(sound.photo->intact_part, cv::Rect(0, 0, size.height, size.width));
  EXPECT_EQ(worst_difference(photo.bgr(photo.intact_part), sound.photo->bgr(photo.intact_part)), 0);
}

TEST(LoadPhoto, RefusesAPhotoOfWhichTooLittleIsThere) {
  const picture_files::TemporaryFolder folder;
  LoadOptions options;
  options.min_megapixels = 0;
  const FileBytes whole = plain();
  const auto file = folder.write("seat.jpg", cut(whole, 0.3));
  const LoadResult loaded = load_photo(file, options);
  EXPECT_FALSE(loaded.photo);
  ASSERT_EQ(loaded.faults.size(), 1U);
  EXPECT_EQ(loaded.faults[0].code, "photo-truncated");
  EXPECT_EQ(loaded.faults[0].severity, Severity::refusal);
  EXPECT_THAT(loaded.faults[0].seen, testing::HasSubstr("at least 50 % are needed"));
  options.min_intact = 0.1;
  EXPECT_TRUE(load_photo(file, options).photo);
}

}  // namespace
}  // namespace chalkfold::capture
