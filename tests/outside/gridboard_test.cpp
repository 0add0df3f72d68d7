// SPDX-License-Identifier: Apache-2.0
// Self-calibration on real optics: 42 photographs of a printed marker grid (abakisita/camera_calibration, MIT licence,
// not committed), then both diagonals of the grid measured in each photo with its outermost corners left out.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <opencv2/aruco.hpp>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgcodecs.hpp>
#include <optional>
#include <stdexcept>

#include "tests/outside/board_photos.h"
#include "tests/shared_data.h"

namespace chalkfold {
namespace {

constexpr int columns = 4, rows = 5;
constexpr double marker = 37.5, gap = 5;  // mm
constexpr double width = columns * marker + (columns - 1) * gap, height = rows * marker + (rows - 1) * gap;

/// Corner k (clockwise from the top left) of a marker, y down the board.
Vec2 corner_on_board(int id, int k) {
  const Vec2 first(id % columns * (marker + gap), id / columns * (marker + gap));
  return first + marker * Vec2(k == 1 || k == 2 ? 1 : 0, k >= 2 ? 1 : 0);
}

/// Where the board's own four corners were seen, clockwise from the top left; absent ones are left out.
struct GridPhoto {
  BoardPhoto all, inner;
  std::map<int, Vec2> outermost;
};

GridPhoto find_grid(const cv::Mat& grey) {
  const auto parameters = cv::aruco::DetectorParameters::create();
  parameters->cornerRefinementMethod = cv::aruco::CORNER_REFINE_SUBPIX;
  std::vector<std::vector<cv::Point2f>> corners;
  std::vector<int> ids;
  cv::aruco::detectMarkers(grey, cv::aruco::getPredefinedDictionary(cv::aruco::DICT_6X6_1000), corners, ids,
                           parameters);
  const std::map<std::pair<int, int>, int> outermost = {
      {{0, 0}, 0}, {{columns - 1, 1}, 1}, {{rows * columns - 1, 2}, 2}, {{(rows - 1) * columns, 3}, 3}};
  GridPhoto photo;
  for (std::size_t i = 0; i < ids.size(); ++i) {
    if (ids[i] >= rows * columns) continue;
    for (int k = 0; k < 4; ++k) {
      const cv::Point2f& c = corners[i][static_cast<std::size_t>(k)];
      const Vec2 at(c.x, c.y), on_board = corner_on_board(ids[i], k);
      photo.all.on_board.push_back(on_board);
      photo.all.in_photo.push_back(at);
      if (const auto own = outermost.find({ids[i], k}); own != outermost.end()) {
        photo.outermost[own->second] = at;
      } else {
        photo.inner.on_board.push_back(on_board);
        photo.inner.in_photo.push_back(at);
      }
    }
  }
  return photo;
}

/// Signed errors, mm, of the diagonals that a photo shows, its pose from the inner corners alone.
std::vector<double> diagonal_errors(const GridPhoto& photo, const calib::Lens& lens, const survey::BundleLens& shared) {
  survey::Bundle bundle;
  bundle.lenses = {shared};
  bundle.breathing_sigma = bundle.stabiliser_sigma_px = bundle.robust_sigmas = 0;
  Polyline ideal;
  for (const Vec2& p : photo.inner.in_photo) ideal.push_back(calib::ideal_from_photo(lens, p));
  bundle.photos.push_back({0, 0, survey::pose_from_plane(photo.inner.on_board, ideal)});
  bundle.boards.push_back({0, 1, Vec2::Zero(), 0, true});
  for (std::size_t i = 0; i < ideal.size(); ++i)
    bundle.observations.push_back({0, 0, photo.inner.on_board[i], photo.inner.in_photo[i], 1.0});
  if (!survey::solve_bundle(bundle, survey::BundleStage::poses).ok)
    throw std::runtime_error("diagonal_errors: pose did not settle");
  std::map<int, Vec2> measured;
  for (const auto& [k, at] : photo.outermost) measured[k] = calib::table_from_photo(lens, bundle.photos[0].pose, at, 0);
  std::vector<double> errors;
  for (int k = 0; k < 2; ++k) {
    if (measured.count(k) && measured.count(k + 2))
      errors.push_back((measured[k] - measured[k + 2]).norm() - std::hypot(width, height));
  }
  return errors;
}

/// All the photographs, and those that show enough of the grid.
struct GridPhotos {
  std::vector<GridPhoto> photos;
  std::vector<BoardPhoto> boards;
  cv::Size size;
};

std::optional<GridPhotos> grid_photos() {
  const auto shared = shared_data();
  if (!shared || !std::filesystem::exists(*shared / "check" / "gridboard" / "0.jpg")) return std::nullopt;
  GridPhotos all;
  for (int i = 0; i < 42; ++i) {
    const cv::Mat grey =
        cv::imread((*shared / "check" / "gridboard" / fmt::format("{}.jpg", i)).string(), cv::IMREAD_GRAYSCALE);
    if (grey.empty()) throw std::runtime_error(fmt::format("gridboard/{}.jpg cannot be read", i));
    all.size = grey.size();
    all.photos.push_back(find_grid(grey));
    if (all.photos.back().all.on_board.size() >= 16) all.boards.push_back(all.photos.back().all);
  }
  return all;
}

// cv::calibrateCamera (OpenCV 4.6, calib3d) is the oracle: square pixels held, the same five terms, the same corners, started from the same
// focal length. Both go to the bottom of the same sum of squares.
TEST(Gridboard, TheFocalLengthIsThatOfOpencv) {
  const auto grid = grid_photos();
  if (!grid) GTEST_SKIP() << no_shared_data;
  constexpr double rough_focal_px = 800;
  const std::vector<BoardPhoto>& boards = grid->boards;
  std::vector<std::vector<cv::Point3f>> on_board;
  std::vector<std::vector<cv::Point2f>> in_photo;
  for (const BoardPhoto& board : boards) {
    on_board.emplace_back();
    in_photo.emplace_back();
    for (std::size_t i = 0; i < board.on_board.size(); ++i) {
      on_board.back().emplace_back(static_cast<float>(board.on_board[i].x()), static_cast<float>(board.on_board[i].y()),
                                   0.0F);
      in_photo.back().emplace_back(static_cast<float>(board.in_photo[i].x()),
                                   static_cast<float>(board.in_photo[i].y()));
    }
  }
  cv::Mat camera = (cv::Mat_<double>(3, 3) << rough_focal_px, 0, 0.5 * (grid->size.width - 1), 0, rough_focal_px,
                    0.5 * (grid->size.height - 1), 0, 0, 1),
          terms = cv::Mat::zeros(1, 5, CV_64F);
  std::vector<cv::Mat> turns, shifts;
  const double other_rms_px = cv::calibrateCamera(on_board, in_photo, grid->size, camera, terms, turns, shifts,
                                                  cv::CALIB_USE_INTRINSIC_GUESS | cv::CALIB_FIX_ASPECT_RATIO,
                                                  {cv::TermCriteria::EPS | cv::TermCriteria::COUNT, 500, 1e-14});
  const Calibration ours = calibrate(boards, grid->size, rough_focal_px);
  const double focal = ours.bundle.lenses[0].value[survey::BundleLens::focal], other = camera.at<double>(0, 0);
  fmt::print("{} photos, focal {:.4f} / {:.4f} px, rms {:.5f} / {:.5f} px (survey / OpenCV)\n", boards.size(), focal,
             other, ours.rms_px, other_rms_px);
  constexpr double same_bottom = 0.001;  // share: the bar for real optics; both sums of squares have one bottom
  EXPECT_NEAR(focal / other, 1, same_bottom);
  constexpr double same_rms_px = 1e-3;
  EXPECT_NEAR(ours.rms_px, other_rms_px, same_rms_px);
}

TEST(Gridboard, DiagonalsComeOutTrueOnRealOptics) {
  const auto grid = grid_photos();
  if (!grid) GTEST_SKIP() << no_shared_data;
  const auto& [photos, boards, size] = *grid;
  const Calibration ours = calibrate(boards, size, 800);
  const auto& v = ours.bundle.lenses[0].value;
  const calib::Lens lens = survey::effective_lens(ours.bundle, 0, size.width, size.height);
  std::vector<double> errors;
  for (const GridPhoto& p : photos) {
    if (p.inner.on_board.size() < 16) continue;
    for (double e : diagonal_errors(p, lens, ours.bundle.lenses[0])) errors.push_back(std::abs(e));
  }
  std::sort(errors.begin(), errors.end());
  ASSERT_GE(errors.size(), 40u);
  const double diagonal = std::hypot(width, height), middle = errors[errors.size() / 2];
  fmt::print(
      "{} photos, focal {:.2f} centre {:.2f} {:.2f} px, rms {:.3f} px; {} diagonals of {:.1f} mm: median error {:.3f} "
      "mm ({:.3f} %), "
      "largest {:.3f} mm ({:.3f} %)\n",
      boards.size(), v[survey::BundleLens::focal], v[survey::BundleLens::centre_x], v[survey::BundleLens::centre_y],
      ours.rms_px, errors.size(), diagonal, middle, 100 * middle / diagonal, errors.back(),
      100 * errors.back() / diagonal);
  // Another program finds 811.31 (x) and 811.06 (y) for separate focal lengths, rms 0.410 px.
  constexpr double one_focal_px = 1.0;  // for square pixels and terms fixed otherwise
  EXPECT_NEAR(v[survey::BundleLens::focal], 811.2, one_focal_px);
  EXPECT_NEAR(ours.rms_px, 0.41, 0.02);
  // Marker corners of 0.4 px at some 1.6 px/mm, two to a diagonal: 0.25 mm each; a paper on a wall is no flatter.
  EXPECT_LT(middle, 0.35);
  EXPECT_LT(errors.back(), 1.5);
}

}  // namespace
}  // namespace chalkfold
