// SPDX-License-Identifier: Apache-2.0
#include "demo/camera/truth.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <opencv2/calib3d.hpp>

#include "demo/scenes/scenes.h"

namespace chalkfold::demo {
namespace {

std::vector<cv::Point2d> by_opencv(const nlohmann::json& camera, const std::vector<cv::Point3d>& points) {
  cv::Mat r(3, 3, CV_64F), rotation;
  for (int i = 0; i < 3; ++i) {
    for (int k = 0; k < 3; ++k)
      r.at<double>(i, k) = camera["R"][static_cast<std::size_t>(i)][static_cast<std::size_t>(k)];
  }
  cv::Rodrigues(r, rotation);
  const cv::Vec3d t(camera["t"][0], camera["t"][1], camera["t"][2]);
  const cv::Matx33d k(camera["f"], 0, camera["cx"], 0, camera["f"], camera["cy"], 0, 0, 1);
  const std::vector<double> distortion{camera["k1"], camera["k2"], camera["p1"], camera["p2"], camera["k3"]};
  std::vector<cv::Point2d> out;
  cv::projectPoints(points, rotation, t, k, distortion, out);
  return out;
}

TEST(Truth, CameraMeansWhatOpenCvMeansByIt) {
  const Scene s = launch_scene(2);  // portrait, stored turned
  const nlohmann::json t = truth(s);
  std::vector<cv::Point3d> points;
  for (const Vec2& p : s.panels[0].outline) points.emplace_back(p.x(), p.y(), s.panels[0].thickness);
  const std::vector<cv::Point2d> px = by_opencv(t["camera"], points);
  const calib::Lens lens = upright_lens(s.camera);
  constexpr double exact_px = 1e-7;
  for (std::size_t i = 0; i < px.size(); ++i) {
    const Vec2 ours = calib::photo_from_table(lens, s.camera.pose, {points[i].x, points[i].y, points[i].z});
    ASSERT_LT((ours - Vec2(px[i].x, px[i].y)).norm(), exact_px);
  }
  EXPECT_EQ(t["camera"]["width"], 3024);
  EXPECT_EQ(t["camera"]["stored_orientation"], 6);
  EXPECT_EQ(t["camera_stored_pixels"]["width"], 4032);
}

TEST(Truth, TellsOfPanelsSheetsAndTags) {
  const Scene s = launch_scene(3);
  const nlohmann::json t = truth(s);
  EXPECT_EQ(t["photo"], "back-outer.jpg");
  EXPECT_EQ(t["sheet_plane_z"], sheet_plane_z);
  EXPECT_EQ(t["sheets"].size(), 4U);
  EXPECT_EQ(t["tags"].at(0)["m"], 6);
  const nlohmann::json& p = t["panels"].at(0);
  EXPECT_EQ(p["name"], "back outer");
  EXPECT_EQ(p["thickness_mm"], 5.0);
  EXPECT_EQ(p["holes"].size(), 2U);
  EXPECT_EQ(p["needle_rows"].size(), 2U);
  EXPECT_EQ(p["axis"].size(), 2U);
  EXPECT_TRUE(p["symmetric"]);
  EXPECT_EQ(p["corners"].size(), 2U);
  Polyline outline;
  for (const auto& q : p["outline"]) outline.emplace_back(q[0], q[1]);
  EXPECT_GT(geometry::signed_area(outline), 0) << "counter-clockwise";
}

}  // namespace
}  // namespace chalkfold::demo
