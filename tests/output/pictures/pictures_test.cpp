// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/pictures/pictures.h"

#include <gtest/gtest.h>

#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "tests/output/flag_panel.h"

namespace chalkfold::output {

namespace {
/// A camera that looks slightly askew: 3 px/mm, y down, with perspective.
Vec2 seen_at(const Vec2& p) {
  const double w = 1 + 2e-4 * p.x() + 1e-4 * p.y();
  return Vec2(400 + 3 * p.x(), 900 - 3 * p.y()) / w;
}

/// The flag in black on white, as that camera sees it.
cv::Mat photo_of(const panel::Panel& panel) {
  cv::Mat photo(1200, 1600, CV_8UC3, cv::Scalar::all(255));
  std::vector<cv::Point> polygon;
  for (const Vec2& p : panel.outline.points) polygon.emplace_back(cvRound(seen_at(p).x()), cvRound(seen_at(p).y()));
  cv::fillPoly(photo, std::vector<std::vector<cv::Point>>{polygon}, cv::Scalar::all(0));
  return photo;
}

int grey_at(const cv::Mat& picture, const Vec2& at) {
  return picture.at<cv::Vec3b>(static_cast<int>(at.y()), static_cast<int>(at.x()))[1];
}
}  // namespace

TEST(Pictures, IsNeverMirrored) {
  const panel::Panel panel = test::flag_panel();
  const PictureFrame frame = frame_around(panel, {});
  const cv::Mat picture = rectified(photo_of(panel), seen_at, frame, 8);
  const Vec2 origin = geometry::bounding_box(panel.outline.points).min;
  const Vec2 notch = frame.picture_from_table(origin + test::flag_notch),
             mirrored = frame.picture_from_table(origin + test::flag_notch_mirrored);
  EXPECT_GT(notch.x(), mirrored.x()) << "right in the table is right in the picture";
  EXPECT_LT(notch.y(), frame.height_px / 2.0) << "up in the table is up in the picture";
  EXPECT_GT(grey_at(picture, notch), 200);
  EXPECT_LT(grey_at(picture, mirrored), 50);
}

TEST(Pictures, FrameComesBackAsItWent) {
  const PictureFrame frame = frame_around(test::flag_panel(), {});
  const Vec2 p(12.25, 77.5);
  constexpr double rounding = 1e-9;  // mm
  EXPECT_NEAR((frame.table_from_picture(frame.picture_from_table(p)) - p).norm(), 0, rounding);
  EXPECT_EQ(frame.height_px, 2 * (120 + 2 * 20));
  EXPECT_EQ(frame.width_px, 2 * 300) << "widened for its labels";
}

TEST(Pictures, TheCoarseMapIsAsGoodAsTheFullOne) {
  const panel::Panel panel = test::flag_panel();
  const PictureFrame frame = frame_around(panel, {});
  cv::Mat ramp(1200, 1600, CV_8UC3);
  for (int y = 0; y < ramp.rows; ++y) {
    for (int x = 0; x < ramp.cols; ++x)
      ramp.at<cv::Vec3b>(y, x) = cv::Vec3b(static_cast<uchar>(x / 8), static_cast<uchar>(y / 8), 0);
  }
  const cv::Mat coarse = rectified(ramp, seen_at, frame, 8), full = rectified(ramp, seen_at, frame, 1);
  // a map off by less than 8 px would not pass unseen: the ramp steps at every 8th
  constexpr double one_grey_level = 1;
  EXPECT_LE(cv::norm(coarse, full, cv::NORM_INF), one_grey_level);
  const double differing =
      cv::countNonZero(coarse.reshape(1) != full.reshape(1)) / static_cast<double>(full.total() * 3);
  // where a step of the ramp falls on the rounding of the sampling position (1/32 px)
  constexpr double share_at_steps = 0.002;
  EXPECT_LE(differing, share_at_steps);
}

TEST(Pictures, OutsideThePhotoIsGrey) {
  const PictureFrame frame = frame_around(test::flag_panel(), {});
  const cv::Mat picture = rectified(
      cv::Mat(50, 50, CV_8UC3, cv::Scalar::all(0)), [](const Vec2&) { return Vec2(-500, -500); }, frame, 8);
  double least = 0, most = 0;
  cv::minMaxLoc(picture.reshape(1), &least, &most);
  EXPECT_EQ(least, most);
  EXPECT_GT(least, 200);
}

TEST(Pictures, WhiskersAreAsLongAsTheySay) {
  panel::Panel panel = test::flag_panel();
  panel.outline.U.assign(panel.outline.U.size(), 0.5);  // 10 mm whiskers
  const cv::Mat white(1200, 1600, CV_8UC3, cv::Scalar::all(255));
  const std::string bytes = panel_picture_jpeg(white, seen_at, panel);
  const cv::Mat picture = cv::imdecode(std::vector<unsigned char>(bytes.begin(), bytes.end()), cv::IMREAD_COLOR);
  const PictureFrame frame = frame_around(panel, {});
  ASSERT_EQ(picture.cols, frame.width_px);
  ASSERT_GT(picture.rows, frame.height_px) << "the strip with the labels";
  // The point 100 mm along the lower edge carries a whisker, pointing down: look across it for ink.
  const Vec2 foot = geometry::bounding_box(panel.outline.points).min + Vec2(100, 0);
  const auto inked = [&](double below) {
    int darkest = 255;
    for (double dx = -1; dx <= 1; dx += 0.25)
      darkest = std::min(darkest, grey_at(picture, frame.picture_from_table(foot + Vec2(dx, -below))));
    return darkest < 180;
  };
  EXPECT_TRUE(inked(0));
  EXPECT_TRUE(inked(5));
  EXPECT_TRUE(inked(9));
  EXPECT_FALSE(inked(12));
  EXPECT_FALSE(inked(-5)) << "whiskers stand outside the material";
}

TEST(Pictures, SameInputSameBytes) {
  const panel::Panel panel = test::flag_panel(
      "R\xC3\xBC"
      "cken");
  const cv::Mat photo = photo_of(panel);
  EXPECT_EQ(panel_picture_jpeg(photo, seen_at, panel), panel_picture_jpeg(photo, seen_at, panel));
}

TEST(Pictures, RefusesAPanelWithoutAnOutline) { EXPECT_THROW(frame_around(panel::Panel{}, {}), std::logic_error); }

}  // namespace chalkfold::output
