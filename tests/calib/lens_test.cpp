// SPDX-License-Identifier: Apache-2.0
#include "calib/lens.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <opencv2/calib3d.hpp>
#include <vector>

namespace chalkfold::calib {
namespace {

constexpr double solver_px = 1e-9;    // Newton stops at 1e-13 of a focal length of 3000 px
constexpr double rounding_mm = 1e-9;  // a metre away, at 1e-13 each
constexpr double oracle_px = 1e-8;    // two routes of some twenty double operations on numbers of 4000

Lens phone_lens() {
  Lens lens;
  lens.width = 4000;
  lens.height = 3000;
  lens.focal_px = 3100;
  lens.centre_x_px = 2011.3;
  lens.centre_y_px = 1490.7;
  lens.k1 = 0.11;
  lens.k2 = -0.28;
  lens.p1 = 6e-4;
  lens.p2 = -9e-4;
  lens.k3 = 0.17;
  return lens;
}

/// A camera a metre up, looking down on the table, a little tilted.
Pose pose_above() {
  Pose pose;
  const Mat3 look_down = Vec3(1, -1, -1).asDiagonal();
  pose.rotation = (Eigen::AngleAxisd(0.2, Vec3::UnitX()) * Eigen::AngleAxisd(-0.15, Vec3::UnitY()) *
                   Eigen::AngleAxisd(0.7, Vec3::UnitZ()))
                      .toRotationMatrix() *
                  look_down;
  pose.translation = -pose.rotation * Vec3(120, -60, 1000);
  return pose;
}

std::vector<Vec2> grid_over_photo(const Lens& lens) {
  std::vector<Vec2> grid;
  for (int x = 0; x <= lens.width; x += 200) {
    for (int y = 0; y <= lens.height; y += 200) grid.emplace_back(x, y);
  }
  return grid;
}

TEST(Lens, UndistortThenDistortComesBackAllOverThePhoto) {
  const Lens lens = phone_lens();
  for (const Vec2& pixel : grid_over_photo(lens)) {
    const Vec2 back = photo_from_ideal(lens, ideal_from_photo(lens, pixel));
    EXPECT_LT((back - pixel).norm(), solver_px) << "at " << pixel.transpose();
  }
}

TEST(Lens, WithoutDistortionIsAPinhole) {
  Lens lens = phone_lens();
  lens.k1 = lens.k2 = lens.k3 = lens.p1 = lens.p2 = 0;
  const Vec2 pixel = photo_from_ideal(lens, {0.3, -0.2});
  EXPECT_NEAR(pixel.x(), 2011.3 + 930, oracle_px);
  EXPECT_NEAR(pixel.y(), 1490.7 - 620, oracle_px);
}

TEST(Lens, ProjectsAsOpenCvDoes) {
  const Lens lens = phone_lens();
  const Pose pose = pose_above();
  const cv::Matx33d camera(lens.focal_px, 0, lens.centre_x_px, 0, lens.focal_px, lens.centre_y_px, 0, 0, 1);
  const std::vector<double> coefficients = {lens.k1, lens.k2, lens.p1, lens.p2, lens.k3};
  cv::Matx33d rotation;
  for (int r = 0; r < 3; ++r) {
    for (int c = 0; c < 3; ++c) rotation(r, c) = pose.rotation(r, c);
  }
  cv::Vec3d turn;
  cv::Rodrigues(rotation, turn);
  std::vector<cv::Point3d> table;
  for (int x = -300; x <= 400; x += 70) {
    for (int y = -300; y <= 300; y += 60) table.emplace_back(x, y, (x + y) % 9);
  }
  std::vector<cv::Point2d> theirs;
  cv::projectPoints(table, turn, cv::Vec3d(pose.translation.data()), camera, coefficients, theirs);
  for (std::size_t i = 0; i < table.size(); ++i) {
    const Vec2 ours = photo_from_table(lens, pose, {table[i].x, table[i].y, table[i].z});
    EXPECT_LT((ours - Vec2(theirs[i].x, theirs[i].y)).norm(), oracle_px) << "point " << i << " at " << table[i];
  }
}

TEST(Lens, TableAndPhotoAreInverseAtAnyHeight) {
  const Lens lens = phone_lens();
  const Pose pose = pose_above();
  for (const double height : {0.0, 1.2, 8.0, -3.0}) {
    for (const Vec2& pixel : grid_over_photo(lens)) {
      const Vec2 at = table_from_photo(lens, pose, pixel, height);
      EXPECT_LT((photo_from_table(lens, pose, {at.x(), at.y(), height}) - pixel).norm(), solver_px)
          << "height " << height << " pixel " << pixel.transpose();
    }
  }
}

TEST(Lens, SeesTheTableUnmirroredFromAbove) {
  const Lens lens = phone_lens();
  Pose pose;
  pose.rotation = Vec3(1, -1, -1).asDiagonal();
  pose.translation = -pose.rotation * Vec3(0, 0, 1000);
  EXPECT_LT((pose.centre() - Vec3(0, 0, 1000)).norm(), rounding_mm);
  const Vec2 origin = photo_from_table(lens, pose, {0, 0, 0});
  EXPECT_GT(photo_from_table(lens, pose, {100, 0, 0}).x(), origin.x()) << "table x is photo right";
  EXPECT_LT(photo_from_table(lens, pose, {0, 100, 0}).y(), origin.y()) << "table y is photo up";
}

}  // namespace
}  // namespace chalkfold::calib
