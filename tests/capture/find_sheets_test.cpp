// SPDX-License-Identifier: Apache-2.0
// Sheets as a printer and as a camera see them, and boards that only look like ours.
#include <fmt/format.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <opencv2/aruco/charuco.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "calib/lens.h"
#include "calib/sheet_layout.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/geometry/polygon.h"
#include "tests/shared_data.h"

namespace chalkfold::capture {
namespace {

namespace fs = std::filesystem;

bool has_fault(const Sighting& s, const std::string& code) {
  return std::any_of(s.faults.begin(), s.faults.end(), [&](const Fault& f) { return f.code == code; });
}

Photo photo_of(const cv::Mat& picture, const std::string& name = "page") {
  Photo photo;
  photo.name = name;
  if (picture.channels() == 1) {
    cv::cvtColor(picture, photo.bgr, cv::COLOR_GRAY2BGR);
  } else {
    photo.bgr = picture;
  }
  return photo;
}

/// A page of the ready-made A4 file, drawn by pdftoppm; empty when that cannot be run.
cv::Mat page(int number, int dpi) {
  const fs::path stem = fs::path(testing::TempDir()) / fmt::format("chalkfold_page_{}", ::getpid());
  const std::string command = fmt::format("pdftoppm -gray -singlefile -r {} -f {} '{}/calib/sheets-a4.pdf' '{}'", dpi,
                                          number, CHALKFOLD_SOURCE_DIR, stem.string());
  if (std::system(command.c_str()) != 0) return {};
  const fs::path file = stem.string() + ".pgm";
  const cv::Mat picture = cv::imread(file.string(), cv::IMREAD_GRAYSCALE);
  fs::remove(file);
  return picture;
}

class ReadyMadePage : public testing::TestWithParam<int> {};
INSTANTIATE_TEST_SUITE_P(Dpi, ReadyMadePage, testing::Values(200, 600));

TEST_P(ReadyMadePage, ShowsAllCornersWhereTheLayoutSays) {
  const int dpi = GetParam();
  constexpr int first_sheet_page = 2;  // the first page is the guide
  const cv::Mat picture = page(first_sheet_page, dpi);
  if (picture.empty()) GTEST_SKIP() << "pdftoppm is not here";
  const Sighting sighting = find_sheets(photo_of(picture));
  ASSERT_EQ(sighting.sheets.size(), 1u);
  const SheetSighting& seen = sighting.sheets[0];
  EXPECT_EQ(seen.number, 1);
  ASSERT_EQ(seen.corners.size(), 24u);
  EXPECT_EQ(seen.dropped, 0);
  EXPECT_EQ(seen.outside, 0);
  const double px_per_mm = dpi / 25.4;
  EXPECT_NEAR(seen.square_px, sheet::square * px_per_mm, 0.05);
  // pdftoppm draws with 4 x 4 samples a pixel, so an edge lands up to an eighth of a pixel off all along; the fit of an
  // edge without blur adds a few hundredths.
  constexpr double drawn_px = 0.15;
  Polyline want, got;
  for (const CornerSighting& c : seen.corners) {
    const Vec2 at = sheet::corner(c.corner);
    want.push_back(Vec2(105 + at.x(), 148.5 - at.y()) * px_per_mm - Vec2(0.5, 0.5));
    got.push_back(c.at_in_photo);
  }
  for (std::size_t i = 0; i < got.size(); ++i)
    EXPECT_LT((got[i] - want[i]).cwiseAbs().maxCoeff(), drawn_px) << "corner " << i;
  EXPECT_GT(seen.white, 250);
  EXPECT_LT(seen.black, 5);
}

TEST(FindSheets, DoesNotFindAMirroredSheet) {
  cv::Mat picture = page(2, 200);
  if (picture.empty()) GTEST_SKIP() << "pdftoppm is not here";
  cv::flip(picture, picture, 1);
  const Sighting sighting = find_sheets(photo_of(picture));
  EXPECT_TRUE(sighting.sheets.empty());
  EXPECT_TRUE(has_fault(sighting, "no-sheet"));
}

TEST(FindSheets, FindsASheetUpsideDown) {
  cv::Mat picture = page(3, 200);
  if (picture.empty()) GTEST_SKIP() << "pdftoppm is not here";
  cv::rotate(picture, picture, cv::ROTATE_180);
  const Sighting sighting = find_sheets(photo_of(picture));
  ASSERT_EQ(sighting.sheets.size(), 1u);
  EXPECT_EQ(sighting.sheets[0].number, 2);
  EXPECT_EQ(sighting.sheets[0].corners.size(), 24u);
  // Corner 0 is top left on the page, so bottom right here.
  EXPECT_GT(sighting.sheets[0].corners[0].at_in_photo.x(), picture.cols / 2.0);
  EXPECT_GT(sighting.sheets[0].corners[0].at_in_photo.y(), picture.rows / 2.0);
}

TEST(FindSheets, SaysSoWhenNothingIsThere) {
  const Sighting sighting = find_sheets(photo_of(cv::Mat(1200, 1600, CV_8U, cv::Scalar(90))));
  EXPECT_TRUE(sighting.sheets.empty());
  EXPECT_TRUE(has_fault(sighting, "no-sheet"));
}

/// A ChArUco board with our markers, squares and marker sides, drawn by OpenCV.
cv::Mat board_picture(int columns, int rows, const std::vector<int>& ids) {
  const auto dictionary = cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000);
  const auto board = cv::aruco::CharucoBoard::create(columns, rows, 36, 26, dictionary);
  if (!ids.empty()) board->ids = ids;
  cv::Mat picture;
  board->draw({columns * 200 + 200, rows * 200 + 200}, picture, 100, 1);
  return picture;
}

TEST(FindSheets, FindsOurLayoutDrawnByOpencv) {
  const Sighting sighting = find_sheets(photo_of(board_picture(5, 7, {})));
  ASSERT_EQ(sighting.sheets.size(), 1u);
  EXPECT_EQ(sighting.sheets[0].corners.size(), 24u);
  EXPECT_FALSE(has_fault(sighting, "other-layout"));
}

TEST(FindSheets, RefusesABoardOfAnotherLayout) {
  std::vector<int> shuffled;
  for (int m = 0; m < sheet::markers_per_sheet; ++m)
    shuffled.push_back(m * 5 % sheet::markers_per_sheet);  // 5 and 17 share no factor
  std::vector<int> reversed(shuffled.size());
  for (int m = 0; m < sheet::markers_per_sheet; ++m)
    reversed[static_cast<std::size_t>(m)] = sheet::markers_per_sheet - 1 - m;
  const std::pair<const char*, cv::Mat> boards[] = {{"7 x 5", board_picture(7, 5, {})},
                                                    {"shuffled", board_picture(5, 7, shuffled)},
                                                    {"reversed", board_picture(5, 7, reversed)}};
  for (const auto& [name, picture] : boards) {
    const Sighting sighting = find_sheets(photo_of(picture));
    EXPECT_TRUE(sighting.sheets.empty()) << name;
    EXPECT_TRUE(has_fault(sighting, "other-layout")) << name;
    EXPECT_TRUE(has_refusal(sighting.faults)) << name;
  }
}

/// Camera of the upright picture as a truth file gives it.
std::pair<calib::Lens, calib::Pose> camera_of(const nlohmann::json& truth) {
  const auto& c = truth.at("camera");
  calib::Lens lens;
  lens.focal_px = c.at("f");
  lens.centre_x_px = c.at("cx");
  lens.centre_y_px = c.at("cy");
  lens.k1 = c.at("k1");
  lens.k2 = c.at("k2");
  lens.p1 = c.at("p1");
  lens.p2 = c.at("p2");
  lens.k3 = c.at("k3");
  calib::Pose pose;
  for (int i = 0; i < 9; ++i)
    pose.rotation(i / 3, i % 3) = c.at("R").at(static_cast<std::size_t>(i / 3)).at(static_cast<std::size_t>(i % 3));
  for (int i = 0; i < 3; ++i) pose.translation[i] = c.at("t").at(static_cast<std::size_t>(i));
  return {lens, pose};
}

class RenderedPhoto : public testing::TestWithParam<const char*> {};
INSTANTIATE_TEST_SUITE_P(Photographs, RenderedPhoto,
                         testing::Values("d01", "d02", "d03", "d04", "d05", "d06", "e01", "e02", "e03", "e04", "e05",
                                         "e06"));

TEST_P(RenderedPhoto, CornersLieWhereTheTruthHasThem) {
  const auto shared = shared_data();
  if (!shared) GTEST_SKIP() << no_shared_data;
  const fs::path stem = *shared / "photos" / GetParam();
  if (!fs::exists(stem.string() + ".jpg")) GTEST_SKIP() << no_shared_data;
  const LoadResult loaded = load_photo(stem.string() + ".jpg");
  ASSERT_TRUE(loaded.photo);
  const nlohmann::json truth = nlohmann::json::parse(std::ifstream(stem.string() + ".truth.json"));
  const auto [lens, pose] = camera_of(truth);
  const double sheet_z = truth.value("sheet_plane_z", 0.1);
  const Sighting sighting = find_sheets(*loaded.photo);
  EXPECT_EQ(sighting.sheets.size(), truth.at("sheets").size());
  Vec2 mean = Vec2::Zero();
  double square = 0, largest = 0;
  int count = 0;
  for (const SheetSighting& seen : sighting.sheets) {
    const auto& sheets = truth.at("sheets");
    const auto own =
        std::find_if(sheets.begin(), sheets.end(), [&](const auto& s) { return s.at("n") == seen.number; });
    ASSERT_NE(own, sheets.end()) << "sheet " << seen.number << " is not in the scene";
    const geometry::Rigid2 table_from_sheet{
        own->at("theta_rad").template get<double>(),
        Vec2(own->at("x").template get<double>(), own->at("y").template get<double>())};
    for (const CornerSighting& c : seen.corners) {
      const Vec2 at = table_from_sheet * sheet::corner(c.corner);
      const Vec2 off = c.at_in_photo - calib::photo_from_table(lens, pose, {at.x(), at.y(), sheet_z});
      mean += off;
      square += off.squaredNorm();
      largest = std::max(largest, off.norm());
      ++count;
    }
  }
  ASSERT_GE(count, 12);
  mean /= count;
  const double rms_px = std::sqrt(square / count);
  fmt::print("{}: {} corners, mean {:+.3f} {:+.3f} px, rms {:.3f} px, largest {:.3f} px\n", GetParam(), count, mean.x(),
             mean.y(), rms_px, largest);
  constexpr double mean_bound_px = 0.03,
                   rms_bound_px = 0.1;  // what the pictures' own check reached with another corner finder
  EXPECT_LT(mean.cwiseAbs().maxCoeff(), mean_bound_px);
  EXPECT_LT(rms_px, rms_bound_px);
}

}  // namespace
}  // namespace chalkfold::capture
