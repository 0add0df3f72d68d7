// SPDX-License-Identifier: Apache-2.0
#include "demo/camera/photo_file.h"

#include <gtest/gtest.h>
#include <libexif/exif-data.h>
#include <unistd.h>

#include <fstream>
#include <map>
#include <opencv2/imgcodecs.hpp>

#include "demo/camera/render.h"
#include "demo/scenes/scenes.h"
#include "pipeline/common/error.h"

namespace chalkfold::demo {
namespace {

constexpr int small = 1008;  // px, a quarter of the full size

/// A place of this process's own: another run of the same test would take its files away.
std::filesystem::path own_place(const std::string& name) {
  return std::filesystem::path(testing::TempDir()) / (name + "-" + std::to_string(getpid()));
}

std::string exif_text(ExifData* data, ExifIfd ifd, ExifTag tag) {
  char text[64] = "";
  if (ExifEntry* e = exif_content_get_entry(data->ifd[ifd], tag)) exif_entry_get_value(e, text, sizeof text);
  return text;
}

std::string bytes_of(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

TEST(JpegWithExif, IsStoredTurnedAndComesOutUpright) {
  Scene scene = flag_scene(1, small);
  scene.sensor.jpeg_quality = 98;
  for (const int orientation : {1, 3, 6, 8}) {
    scene.camera.orientation = orientation;
    const cv::Mat upright = render(scene);
    const std::vector<unsigned char> jpeg = jpeg_with_exif(upright, scene);
    const cv::Mat back = cv::imdecode(jpeg, cv::IMREAD_COLOR);  // turns by the EXIF orientation
    ASSERT_EQ(back.size(), upright.size());
    constexpr double jpeg_codes = 4;  // mean difference at quality 98 with thinned colour
    EXPECT_LT(cv::norm(back, upright, cv::NORM_L1) / static_cast<double>(3 * back.total()), jpeg_codes)
        << "orientation " << orientation;
    const cv::Mat stored = cv::imdecode(jpeg, cv::IMREAD_COLOR | cv::IMREAD_IGNORE_ORIENTATION);
    EXPECT_EQ(stored.cols, scene.camera.lens.width);
  }
}

TEST(JpegWithExif, NamesAnExamplePhone) {
  const Scene scene = launch_scene(2, small);
  const auto jpeg = jpeg_with_exif(cv::Mat(small, small * 3 / 4, CV_8UC3, cv::Scalar::all(90)), scene);
  ExifData* data = exif_data_new_from_data(jpeg.data(), static_cast<unsigned>(jpeg.size()));
  ASSERT_NE(data, nullptr);
  EXPECT_EQ(exif_text(data, EXIF_IFD_0, EXIF_TAG_MAKE), "Example");
  EXPECT_EQ(exif_text(data, EXIF_IFD_0, EXIF_TAG_MODEL), "P1");
  EXPECT_EQ(exif_text(data, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM), "26");
  EXPECT_EQ(exif_text(data, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH), "4.5 mm");
  ExifEntry* e = exif_content_get_entry(data->ifd[EXIF_IFD_0], EXIF_TAG_ORIENTATION);
  ASSERT_NE(e, nullptr);
  EXPECT_EQ(exif_get_short(e->data, exif_data_get_byte_order(data)), 6);
  exif_data_unref(data);
}

TEST(WritePhoto, SameSeedSameBytesForAnyNumberOfThreads) {
  const auto folder = own_place("chalkfold-demo-bytes");
  const Scene scene = [] {
    RandomSceneOptions o;
    o.width_px = small;
    o.sensor = phone_sensor();
    return random_scene(12, o);
  }();
  const int threads = cv::getNumThreads();
  std::map<int, std::pair<std::string, std::string>> written;
  // As many as there are first: once limited to one, the thread pool does not grow again.
  for (const int n : {threads, 1}) {
    cv::setNumThreads(n);
    write_photo(scene, folder);
    written[n] = {bytes_of(folder / "random-12.jpg"), bytes_of(folder / "random-12.truth.json")};
  }
  cv::setNumThreads(threads);
  EXPECT_GT(written[1].first.size(), 50000U);
  EXPECT_GT(written[1].second.size(), 1000U);
  EXPECT_EQ(written[1], written[threads]);
  std::size_t files = 0;
  for ([[maybe_unused]] const auto& f : std::filesystem::directory_iterator(folder)) ++files;
  EXPECT_EQ(files, 2U) << "no temporary file may stay";
  Scene other = scene;
  other.seed = 13;
  EXPECT_NE(cv::norm(render(scene), render(other), cv::NORM_L1), 0) << "another seed, other noise";
  std::filesystem::remove_all(folder);
}

/// FNV-1a.
std::uint64_t checksum(const std::string& bytes) {
  std::uint64_t h = 0xcbf29ce484222325ULL;
  for (const char c : bytes) h = (h ^ static_cast<unsigned char>(c)) * 0x100000001b3ULL;
  return h;
}

TEST(WritePhoto, RandomScenesKeepTheirBytes) {
  // Figures measured on random photographs are comparable over the years only while a seed means the same photograph. The sums
  // are of files written before the sets of untidy scenes and phones came; with Debian 12's compiler, libm and libjpeg.
  struct Written {
    std::uint64_t seed, truth, photo;
  };
  const auto folder = own_place("chalkfold-demo-kept");
  for (const Written& w : {Written{2, 0x1d2bd9f0a3905728ULL, 0x2e002b51f7b20a66ULL},
                           Written{12, 0xaed91d7e9bb1593cULL, 0xf86f7550352db0b0ULL}}) {
    RandomSceneOptions o;
    o.width_px = 640;
    o.sensor = phone_sensor();
    const Scene scene = random_scene(w.seed, o);
    write_photo(scene, folder);
    EXPECT_EQ(checksum(bytes_of(folder / (scene.name + ".truth.json"))), w.truth) << scene.name;
    EXPECT_EQ(checksum(bytes_of(folder / (scene.name + ".jpg"))), w.photo) << scene.name;
  }
  std::filesystem::remove_all(folder);
}

TEST(WritePhoto, SaysWhenItCannotWrite) {
  const auto file = own_place("chalkfold-demo-file");
  std::ofstream(file) << "not a folder";
  EXPECT_THROW(write_photo(flag_scene(1, 640), file / "below"), FileError);
  std::filesystem::remove(file);
}

}  // namespace
}  // namespace chalkfold::demo
