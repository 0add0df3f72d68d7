// SPDX-License-Identifier: Apache-2.0
#include "demo/base/scene.h"

#include <gtest/gtest.h>

#include <Eigen/LU>
#include <opencv2/core.hpp>

#include "demo/scenes/scene_layout.h"

namespace chalkfold::demo {
namespace {

/// Where OpenCV puts a pixel of the stored picture when it turns it upright.
Vec2 upright_from_stored(const Vec2& stored, int width, int height, int orientation) {
  switch (orientation) {
    case 3:
      return {width - 1 - stored.x(), height - 1 - stored.y()};
    case 6:
      return {height - 1 - stored.y(), stored.x()};
    case 8:
      return {stored.y(), width - 1 - stored.x()};
    default:
      return stored;
  }
}

/// A direction of the stored picture's axes, seen in the upright picture's.
Vec2 turned(const Vec2& stored, int orientation) {
  switch (orientation) {
    case 3:
      return -stored;
    case 6:
      return {-stored.y(), stored.x()};
    case 8:
      return {stored.y(), -stored.x()};
    default:
      return stored;
  }
}

TEST(UprightLens, SeesWhatTheStoredLensSees) {
  constexpr double exact_px = 1e-9;
  for (const int orientation : {1, 3, 6, 8}) {
    Camera camera{.lens = phone_lens(), .orientation = orientation, .pose = {}};
    const calib::Lens upright = upright_lens(camera);
    for (const Vec2& ideal : {Vec2(0, 0), Vec2(0.4, 0.1), Vec2(-0.3, 0.35), Vec2(0.1, -0.45)}) {
      const Vec2 stored_px = calib::photo_from_ideal(camera.lens, ideal);
      const Vec2 expected = upright_from_stored(stored_px, camera.lens.width, camera.lens.height, orientation);
      EXPECT_LT((calib::photo_from_ideal(upright, turned(ideal, orientation)) - expected).norm(), exact_px)
          << "orientation " << orientation;
    }
  }
}

TEST(UprightLens, RefusesMirroredOrientations) {
  EXPECT_THROW(upright_lens({.lens = phone_lens(), .orientation = 2, .pose = {}}), std::logic_error);
}

TEST(PoseAt, KeepsTheHandAndLooksWhereItIsTold) {
  const calib::Lens lens = phone_lens();
  for (const double tilt : {0.0, 15.0, 30.0}) {
    const CameraPlace place{{50, -20}, 1000, tilt, 40, 110};
    const calib::Pose pose = pose_at(place);
    constexpr double exact = 1e-9;
    EXPECT_NEAR(pose.rotation.determinant(), 1, exact);
    EXPECT_NEAR(pose.centre().z(), 1000, exact);
    EXPECT_LT((calib::photo_from_table(lens, pose, {50, -20, 0}) - Vec2(lens.centre_x_px, lens.centre_y_px)).norm(),
              1e-6);
    // Counter-clockwise on the table is counter-clockwise on the screen, that is clockwise in y-down pixels.
    const Vec2 a = calib::photo_from_table(lens, pose, {0, 0, 0}), b = calib::photo_from_table(lens, pose, {100, 0, 0}),
               c = calib::photo_from_table(lens, pose, {0, 100, 0});
    EXPECT_LT((b - a).x() * (c - a).y() - (b - a).y() * (c - a).x(), 0);
  }
}

}  // namespace
}  // namespace chalkfold::demo
