// SPDX-License-Identifier: Apache-2.0
// Photos that cannot be used: each is refused with its reason and what to do, exit 1 (or 3 when there is nothing to
// read at all), and no outline is written.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdint>
#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>

#include "tests/common/run_program.h"

namespace chalkfold {

namespace {
using testing::HasSubstr;
using testing::Not;

/// A JPEG of noise, so that its bytes are spread evenly over its rows.
std::string noise_jpeg(int width, int height) {
  cv::Mat picture(height, width, CV_8UC3);
  cv::RNG random(7);
  random.fill(picture, cv::RNG::UNIFORM, 0, 255);
  std::vector<unsigned char> bytes;
  cv::imencode(".jpg", picture, bytes);
  return {bytes.begin(), bytes.end()};
}

std::uint32_t crc_of(const std::string& bytes) {
  std::uint32_t crc = 0xFFFFFFFF;
  for (const char byte : bytes) {
    crc ^= static_cast<unsigned char>(byte);
    for (int bit = 0; bit < 8; ++bit) crc = (crc >> 1) ^ ((crc & 1) != 0 ? 0xEDB88320 : 0);
  }
  return ~crc;
}

std::string big_endian(std::uint32_t value) {
  std::string out;
  for (int shift = 24; shift >= 0; shift -= 8) out += static_cast<char>(value >> shift & 0xFF);
  return out;
}

/// The start of a PNG file that announces a picture of this size: signature and a valid IHDR chunk, 8-bit RGB.
std::string png_header(std::uint32_t width, std::uint32_t height) {
  std::string chunk = "IHDR";
  chunk += big_endian(width);
  chunk += big_endian(height);
  chunk += std::string("\x08\x02\x00\x00\x00", 5);
  std::string out("\x89PNG\r\n\x1A\n", 8);
  out += big_endian(13);
  out += chunk;
  out += big_endian(crc_of(chunk));
  return out;
}

class BadPhoto : public testing::Test {
 protected:
  test::ProgramRun run(const std::vector<std::string>& photos) {
    std::vector<std::string> words = {CHALKFOLD_PROGRAM, "run"};
    for (const std::string& photo : photos) words.push_back((folder / photo).string());
    for (const char* word : {"--out", "OUT", "--quiet", "--json"}) words.emplace_back(word);
    words[words.size() - 3] = (folder / "out").string();
    return test::run_program(words);
  }

  /// Exit 1 with this fault and its remedy; report and results are there, outlines and temporaries are not.
  void expect_refused(const std::string& name, const std::string& bytes, const std::string& code) {
    test::write_whole(folder / name, bytes);
    const test::ProgramRun result = run({name});
    EXPECT_EQ(result.exit, 1) << result.err;
    EXPECT_THAT(result.out, HasSubstr("\"code\": \"" + code + "\""));
    EXPECT_THAT(result.out, Not(HasSubstr("\"remedy\": \"\"")));
    std::vector<std::string> names;
    for (const auto& [file, content] : test::files_below(folder / "out")) names.push_back(file);
    EXPECT_THAT(names, testing::ElementsAre("report.html", "results.json"));
  }

  test::TemporaryFolder folder;
};
}  // namespace

TEST_F(BadPhoto, Missing) {
  const test::ProgramRun result = run({"missing.jpg"});
  EXPECT_EQ(result.exit, 3);
  EXPECT_THAT(result.err, HasSubstr("missing.jpg: there is no such file"));
  EXPECT_FALSE(std::filesystem::exists(folder / "out"));
}

TEST_F(BadPhoto, AFolderWithoutPhotos) {
  std::filesystem::create_directory(folder / "photos.jpg");
  const test::ProgramRun result = run({"photos.jpg"});
  EXPECT_EQ(result.exit, 3);
  EXPECT_THAT(result.err, HasSubstr("no photo in this folder"));
  EXPECT_FALSE(std::filesystem::exists(folder / "out"));
}

TEST_F(BadPhoto, InAFolderItIsNamedAsIfItHadBeenGiven) {
  std::filesystem::create_directory(folder / "photos");
  test::write_whole(folder / "photos" / "text.jpg", "this is no picture\n");
  const test::ProgramRun result = run({"photos"});
  EXPECT_EQ(result.exit, 1);
  EXPECT_THAT(result.out, HasSubstr("text.jpg"));
}

TEST_F(BadPhoto, TextNamedJpg) { expect_refused("text.jpg", "this is no picture\n", "photo-not-a-picture"); }
TEST_F(BadPhoto, Empty) { expect_refused("empty.jpg", "", "photo-not-a-picture"); }

TEST_F(BadPhoto, TruncatedToALittle) {
  const std::string bytes = noise_jpeg(1600, 1200);
  expect_refused("short.jpg", bytes.substr(0, bytes.size() / 4), "photo-truncated");
}

TEST_F(BadPhoto, TruncatedButMostlyThereIsLookedAt) {
  const std::string bytes = noise_jpeg(1600, 1200);
  expect_refused("short.jpg", bytes.substr(0, bytes.size() * 9 / 10), "no-sheet");
  EXPECT_THAT(test::read_whole(folder / "out/results.json"), HasSubstr("photo-truncated"));
}

TEST_F(BadPhoto, OnePixel) { expect_refused("one.jpg", noise_jpeg(1, 1), "photo-too-small"); }

TEST_F(BadPhoto, EnormousByItsHeaderIsNotDecoded) {
  expect_refused("huge.png", png_header(60000, 60000), "photo-too-large");
}

TEST_F(BadPhoto, WithoutSheets) { expect_refused("noise.jpg", noise_jpeg(1600, 1200), "no-sheet"); }

TEST_F(BadPhoto, AMissingOneAmongOthersIsRefusedWithTheRest) {
  test::write_whole(folder / "text.jpg", "text");
  const test::ProgramRun result = run({"text.jpg", "missing.jpg"});
  EXPECT_EQ(result.exit, 1);
  EXPECT_THAT(result.out, HasSubstr("photo-missing"));
  EXPECT_THAT(result.out, HasSubstr("photo-not-a-picture"));
}

TEST_F(BadPhoto, TheSummarySaysWhatToDo) {
  test::write_whole(folder / "text.jpg", "text");
  const test::ProgramRun result =
      test::run_program({CHALKFOLD_PROGRAM, "run", (folder / "text.jpg").string(), "--out", (folder / "out").string()});
  EXPECT_EQ(result.exit, 1);
  EXPECT_THAT(result.out, HasSubstr("REFUSED: photo text.jpg: "));
  EXPECT_THAT(result.out, HasSubstr("what to do: "));
  EXPECT_TRUE(result.out.ends_with("\nopen " + (folder / "out/report.html").string() + "\n"));
  EXPECT_THAT(result.err, HasSubstr("reading photos 1/1: text.jpg\n"));
}

}  // namespace chalkfold
