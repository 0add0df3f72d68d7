// SPDX-License-Identifier: Apache-2.0
#include "pipeline/capture/photo_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <opencv2/imgcodecs.hpp>
#include <random>
#include <set>

#include "pipeline/capture/photo.h"
#include "tests/capture/picture_files.h"

namespace chalkfold::capture {
namespace {

namespace fs = std::filesystem;
using picture_files::FileBytes;
using testing::HasSubstr;

FileBytes bytes_of(const std::string& text) { return {text.begin(), text.end()}; }

/// The single refusal that loading the file must give.
Fault refusal_of(const fs::path& file, const LoadOptions& options = {}) {
  const LoadResult result = load_photo(file, options);
  EXPECT_FALSE(result.photo) << file;
  EXPECT_EQ(result.faults.size(), 1U) << file;
  if (result.faults.empty()) return {};
  EXPECT_EQ(result.faults[0].severity, Severity::refusal) << file;
  EXPECT_FALSE(result.faults[0].remedy.empty()) << file;
  return result.faults[0];
}

class BadFile : public testing::Test {
 protected:
  picture_files::TemporaryFolder folder_;
};

TEST_F(BadFile, Missing) {
  const Fault fault = refusal_of(folder_.path() / "no such.jpg");
  EXPECT_EQ(fault.code, "photo-missing");
  EXPECT_EQ(fault.photo, "no such.jpg");
  EXPECT_THAT(fault.seen, HasSubstr("no such.jpg"));
  EXPECT_EQ(refusal_of(folder_.write("seat.png", bytes_of("x")) / "below-a-file.jpg").code, "photo-missing");
}

TEST_F(BadFile, PatternThatMatchedNothing) {
  const Fault fault = refusal_of(folder_.path() / "*.jpg");
  EXPECT_EQ(fault.code, "photo-missing");
  EXPECT_THAT(fault.seen, HasSubstr("No file matches"));
}

TEST_F(BadFile, Folder) {
  for (const fs::path& path : {folder_.path(), folder_.path() / ""}) {
    const Fault fault = refusal_of(path);
    EXPECT_EQ(fault.code, "photo-unreadable");
    EXPECT_EQ(fault.photo, folder_.path().filename().string());
    EXPECT_THAT(fault.remedy, HasSubstr(folder_.path().string() + "/*.jpg"));
  }
}

TEST_F(BadFile, PipeIsNotWaitedFor) {
  const fs::path pipe = folder_.path() / "pipe.jpg";
  ASSERT_EQ(mkfifo(pipe.c_str(), S_IRUSR | S_IWUSR), 0);
  EXPECT_EQ(refusal_of(pipe).code, "photo-unreadable");
}

TEST_F(BadFile, NoPermission) {
  const fs::path file = folder_.write("seat.png", picture_files::encode(".png", picture_files::flag()));
  fs::permissions(file, fs::perms::none);
  fs::permissions(folder_.path(), fs::perms::all);
  const uid_t self = geteuid(), nobody = 65534;
  if (self == 0) {  // root may read everything
    ASSERT_EQ(seteuid(nobody), 0);
  }
  const Fault fault = refusal_of(file);
  if (self == 0) {
    ASSERT_EQ(seteuid(self), 0);
  }
  EXPECT_EQ(fault.code, "photo-unreadable");
  EXPECT_THAT(fault.seen, HasSubstr("no permission"));
}

TEST_F(BadFile, WhatIsNoPictureIsToldApart) {
  const std::pair<const char*, FileBytes> files[] = {
      {"is empty", {}},
      {"holds text", bytes_of("seat top, seat side\n")},
      {"is a film", bytes_of(std::string("\0\0\0\x18"
                                         "ftypisom\0\0\2\0",
                                         16))},
      {"does not begin like", bytes_of(std::string("GIF89a\1\0\1\0\0\0\0", 13))},
      {"does not begin like", FileBytes(3, 0)},
  };
  std::set<std::string> remedies;
  for (const auto& [words, bytes] : files) {
    const Fault fault = refusal_of(folder_.write("seat.jpg", bytes));
    EXPECT_EQ(fault.code, "photo-not-a-picture") << words;
    EXPECT_THAT(fault.seen, HasSubstr(words));
    remedies.insert(fault.remedy);
  }
  EXPECT_EQ(remedies.size(), 4U);
}

TEST_F(BadFile, OnePixel) {
  const cv::Mat pixel(1, 1, CV_8UC3, cv::Scalar::all(9));
  for (const char* ending : {".png", ".jpg", ".tif", ".webp"}) {
    const Fault fault = refusal_of(folder_.write(std::string("dot") + ending, picture_files::encode(ending, pixel)));
    EXPECT_EQ(fault.code, "photo-too-small") << ending;
    EXPECT_THAT(fault.seen, HasSubstr("1 x 1 px"));
  }
}

TEST_F(BadFile, SizeLimitsAreInclusive) {
  const auto file = folder_.write("flag.png", picture_files::encode(".png", picture_files::flag()));  // 96 x 64 px
  LoadOptions options;
  options.min_megapixels = options.max_megapixels = 96 * 64 / 1e6;
  EXPECT_TRUE(load_photo(file, options).photo);
  options.max_megapixels = (96 * 64 - 1) / 1e6;
  EXPECT_EQ(refusal_of(file, options).code, "photo-too-large");
  options.max_megapixels = 250;
  options.min_megapixels = (96 * 64 + 1) / 1e6;
  EXPECT_EQ(refusal_of(file, options).code, "photo-too-small");
}

long peak_kib() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return usage.ru_maxrss;
}

TEST_F(BadFile, HugeHeadersAreRefusedBeforeAnythingIsAllocated) {
  constexpr long most_kib = 16 * 1024;  // far below the gigabytes the pixels would take, far above a header
  const FileBytes jpeg{0xFF, 0xD8, 0xFF, 0xC0, 0, 17, 8, 0xFF, 0xFF, 0xFF, 0xFF, 3, 1, 0x22, 0, 2, 0x11, 1, 3, 0x11, 1};
  FileBytes webp = bytes_of(std::string("RIFF\x16\0\0\0WEBPVP8X\x0A\0\0\0\0\0\0\0\xFF\xFF\0\xFF\xFF\0", 30));
  FileBytes tiff =
      bytes_of(std::string("MM\0*\0\0\0\x08\0\2\1\0\0\4\0\0\0\1\0\0\xEA\x60\1\1\0\4\0\0\0\1\0\0\xEA\x60\0\0\0\0", 38));
  const std::pair<const char*, FileBytes> files[] = {
      {"60000 x 60000", picture_files::png_header_only(60000, 60000)},
      {"4294967295 x 4294967295", picture_files::png_header_only(0xFFFFFFFF, 0xFFFFFFFF)},
      {"65535 x 65535", jpeg},
      {"65536 x 65536", webp},
      {"60000 x 60000", tiff},
  };
  const long before = peak_kib();
  for (const auto& [words, bytes] : files) {
    const Fault fault = refusal_of(folder_.write("huge", bytes));
    EXPECT_EQ(fault.code, "photo-too-large") << words;
    EXPECT_THAT(fault.seen, HasSubstr(words));
    EXPECT_THAT(fault.seen, HasSubstr("the limit is 250"));
  }
  EXPECT_LT(peak_kib() - before, most_kib);
}

TEST_F(BadFile, HugeFileIsNotRead) {
  const fs::path file = folder_.write("huge.jpg", {0xFF, 0xD8, 0xFF, 0xE0});
  fs::resize_file(file, 5'000'000'000);  // sparse: takes no room on the disk
  const Fault fault = refusal_of(file);
  EXPECT_EQ(fault.code, "photo-too-large");
  EXPECT_THAT(fault.seen, HasSubstr("5000 MB"));
}

TEST_F(BadFile, RawSensorDataIsNotTakenForItsPreview) {
  FileBytes dng = bytes_of(std::string(
      "II*\0\x08\0\0\0\3\0\0\1\4\0\1\0\0\0\xA0\x0F\0\0\1\1\4\0\1\0\0\0\xB8\x0B\0\0\x12\xC6\1\0\4\0\0\0\1\4\0\0\0\0\0\0",
      50));
  const Fault fault = refusal_of(folder_.write("seat.dng", dng));
  EXPECT_EQ(fault.code, "photo-not-a-picture");
  EXPECT_THAT(fault.seen, HasSubstr("raw data"));
}

TEST_F(BadFile, FloatingPointSamplesAreRefused) {
  const cv::Mat floating(64, 96, CV_32FC3, cv::Scalar::all(0.5));
  LoadOptions options;
  options.min_megapixels = 0;
  EXPECT_EQ(refusal_of(folder_.write("seat.tif", picture_files::encode(".tif", floating)), options).code,
            "photo-not-a-picture");
}

/// One sound file of every format, small.
std::vector<std::pair<std::string, FileBytes>> sound_files() {
  PhotoExif exif;
  exif.make = "Maker";
  exif.orientation = 6;
  const cv::Mat picture = picture_files::texture({48, 40});
  const FileBytes block = picture_files::exif_block(exif);
  std::vector<std::pair<std::string, FileBytes>> files{
      {"seat.jpg", picture_files::jpeg_with_exif(picture_files::encode(".jpg", picture), block)},
      {"passes.jpg", picture_files::encode(".jpg", picture, {cv::IMWRITE_JPEG_PROGRESSIVE, 1})},
      {"seat.png", picture_files::png_with_exif(picture_files::encode(".png", picture), block)},
      {"seat.tif", picture_files::tiff_with_exif(picture, exif)},
      {"packed.tif", picture_files::encode(".tif", picture)},
      {"seat.webp", picture_files::webp_with_exif(picture_files::encode(".webp", picture), picture.size(), block)},
  };
  if (auto heic = picture_files::heic_with_exif(picture, exif)) files.emplace_back("seat.heic", std::move(*heic));
  return files;
}

TEST_F(BadFile, CutFilesOfEveryFormatAreRefusedOrWarnedOf) {
  LoadOptions options;
  options.min_megapixels = 0;
  for (const auto& [name, whole] : sound_files()) {
    ASSERT_TRUE(load_photo(folder_.write(name, whole), options).photo) << name;
    const FileBytes half(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(whole.size() / 2));
    const LoadResult result = load_photo(folder_.write(name, half), options);
    ASSERT_EQ(result.faults.size(), 1U) << name;
    EXPECT_EQ(result.faults[0].code, "photo-truncated") << name << ": " << result.faults[0].seen;
  }
}

/// CHALKFOLD_FUZZ_ROUNDS asks for more than the few rounds that every test run can afford.
int fuzz_rounds() {
  const char* asked = std::getenv("CHALKFOLD_FUZZ_ROUNDS");
  return asked ? std::atoi(asked) : 40;
}

TEST_F(BadFile, DamagedBytesGiveAPhotoOrARefusalButNeverAThrow) {
  LoadOptions options;
  options.min_megapixels = 0;
  options.max_megapixels = 4;  // a damaged size is then refused, not painted
  std::mt19937 random(7);
  for (const auto& [name, whole] : sound_files())
    for (int round = 0; round < fuzz_rounds(); ++round) {
      FileBytes bytes = whole;
      for (unsigned flips = random() % 8 + 1; flips > 0; --flips)
        bytes[random() % (round % 2 ? bytes.size() : std::min<std::size_t>(bytes.size(), 400))] =
            static_cast<std::uint8_t>(random());
      if (random() % 3 == 0) bytes.resize(random() % bytes.size());
      const fs::path file = folder_.write(name, bytes);
      LoadResult result;
      ASSERT_NO_THROW(result = load_photo(file, options)) << name << " round " << round;
      ASSERT_NE(result.photo.has_value(), has_refusal(result.faults)) << name << " round " << round;
      if (result.photo) {
        ASSERT_EQ(result.photo->bgr.type(), CV_8UC3) << name << " round " << round;
      }
    }
}

}  // namespace
}  // namespace chalkfold::capture
