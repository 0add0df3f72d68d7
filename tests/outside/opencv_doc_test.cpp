// SPDX-License-Identifier: Apache-2.0
// Thirteen real chessboard photographs and the published calibration of their camera, from Debian's opencv-doc package.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <opencv2/calib3d.hpp>
#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "tests/outside/board_photos.h"

namespace chalkfold {
namespace {

const std::filesystem::path folder = "/usr/share/doc/opencv-doc/examples/data";

BoardPhoto chessboard(const cv::Mat& grey, const cv::Size& inner, double square) {
  BoardPhoto board;
  std::vector<cv::Point2f> corners;
  const int how = cv::CALIB_CB_ADAPTIVE_THRESH | cv::CALIB_CB_NORMALIZE_IMAGE | cv::CALIB_CB_FAST_CHECK;
  if (!cv::findChessboardCorners(grey, inner, corners, how)) return board;
  cv::cornerSubPix(grey, corners, {11, 11}, {-1, -1}, {cv::TermCriteria::EPS | cv::TermCriteria::COUNT, 30, 0.1});
  for (int k = 0; k < static_cast<int>(corners.size()); ++k) {
    const cv::Point2f& p = corners[static_cast<std::size_t>(k)];
    board.on_board.emplace_back(square * (k % inner.width), square * (k / inner.width));
    board.in_photo.emplace_back(p.x, p.y);
  }
  return board;
}

TEST(OpencvDoc, ChessboardPhotographsGiveTheirPublishedLens) {
  if (!std::filesystem::exists(folder / "left01.jpg")) GTEST_SKIP() << "the package opencv-doc is not installed";
  std::vector<BoardPhoto> photos;
  cv::Size size;
  for (int i = 1; i <= 14; ++i) {
    const cv::Mat grey = cv::imread((folder / fmt::format("left{:02}.jpg", i)).string(), cv::IMREAD_GRAYSCALE);
    if (grey.empty()) continue;  // there is no left10
    size = grey.size();
    photos.push_back(chessboard(grey, {9, 6}, 25));
    ASSERT_EQ(photos.back().on_board.size(), 54u) << i;
  }
  ASSERT_EQ(photos.size(), 13u);
  const Calibration ours = calibrate(photos, size, 600);

  cv::Mat camera;
  double published_rms_px = 0;
  const cv::FileStorage file((folder / "left_intrinsics.yml").string(), cv::FileStorage::READ);
  file["camera_matrix"] >> camera;
  file["avg_reprojection_error"] >> published_rms_px;
  const auto& v = ours.bundle.lenses[0].value;
  fmt::print("focal {:.4f} (published {:.4f}), centre {:.4f} {:.4f} ({:.4f} {:.4f}), rms {:.4f} ({:.4f}) px\n",
             v[survey::BundleLens::focal], camera.at<double>(0, 0), v[survey::BundleLens::centre_x],
             v[survey::BundleLens::centre_y], camera.at<double>(0, 2), camera.at<double>(1, 2), ours.rms_px,
             published_rms_px);
  // Corners found by another release of the detector than the published ones differ by thousandths of a pixel.
  constexpr double other_release_px = 0.05, other_release_rms_px = 1e-3;
  EXPECT_NEAR(v[survey::BundleLens::focal], camera.at<double>(0, 0), other_release_px);
  EXPECT_NEAR(v[survey::BundleLens::centre_x], camera.at<double>(0, 2), other_release_px);
  EXPECT_NEAR(v[survey::BundleLens::centre_y], camera.at<double>(1, 2), other_release_px);
  EXPECT_NEAR(ours.rms_px, published_rms_px, other_release_rms_px);
}

}  // namespace
}  // namespace chalkfold
