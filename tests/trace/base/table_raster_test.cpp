// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/base/table_raster.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <opencv2/imgproc.hpp>

namespace chalkfold::trace {
namespace {

survey::TableView tilted_view() {
  survey::TableView::Solution s;
  s.width = 4032;
  s.height = 3024;
  s.lens = {4032, 3024, 2990, 2020, 1500, 0.08, -0.16, 3e-4, -2e-4, 0};
  Mat3 down;
  down << 1, 0, 0, 0, -1, 0, 0, 0, -1;
  s.pose.rotation = Eigen::AngleAxisd(0.3, Vec3::UnitX()).toRotationMatrix() * down;
  s.pose.translation = Vec3(0, 0, 1100);
  return survey::TableView(s);
}

TEST(ReducedBy, GivesWhatOpenCvGives) {
  cv::Mat photo(60 * 7, 60 * 9, CV_8UC3);
  cv::RNG(5).fill(photo, cv::RNG::UNIFORM, 0, 256);
  photo.rowRange(0, 60).setTo(cv::Scalar(255, 0, 254));
  for (const int times : {2, 3, 4, 5, 7, 17}) {
    cv::Mat wanted;
    cv::resize(photo, wanted, {}, 1.0 / times, 1.0 / times, cv::INTER_AREA);
    const cv::Mat got = reduced_by(times, photo);
    ASSERT_EQ(got.size(), wanted.size()) << times;
    EXPECT_EQ(cv::norm(got, wanted, cv::NORM_INF), 0) << times;
  }
}

TEST(TableRaster, YIsUpInThePicture) {
  geometry::Box box;
  box.add({-100, -50});
  box.add({200, 150});
  const TableRaster raster = raster_over(box, 0.5);
  EXPECT_LT(raster.raster_from_table({0, 150}).y(), raster.raster_from_table({0, -50}).y());
  EXPECT_LT(raster.raster_from_table({-100, 0}).x(), raster.raster_from_table({200, 0}).x());
  const Vec2 p(12.3, -45.6);
  EXPECT_LT((raster.table_from_raster(raster.raster_from_table(p)) - p).norm(), 1e-12);
}

TEST(TableRaster, TheMapIsGoodToAFewHundredthsOfAPixelBetweenItsNodes) {
  const survey::TableView view = tilted_view();
  geometry::Box box;
  box.add({-300, -200});
  box.add({300, 250});
  const TableRaster raster = raster_over(box, 1.3);
  const cv::Mat map = photo_map(raster, view, 1.1, 1.0);
  for (int y = 3; y < map.rows; y += 37) {
    for (int x = 5; x < map.cols; x += 41) {
      const Vec2 truth =
          view.photo_from_table(raster.table_from_raster({static_cast<double>(x), static_cast<double>(y)}), 1.1);
      const auto m = map.at<cv::Vec2f>(y, x);
      EXPECT_LT((Vec2(m[0], m[1]) - truth).norm(),
                0.05);  // px: a tenth of the blur, and no edge is measured through this map
    }
  }
}

TEST(TableRaster, WhatIsVisibleComesFromInsideThePhoto) {
  const survey::TableView view = tilted_view();
  for (const Vec2& p : visible_table(view, 0, 2.0)) {
    const Vec2 q = view.photo_from_table(p, 0);
    EXPECT_GT(q.x(), -1);
    EXPECT_LT(q.x(), 4032);
  }
}

}  // namespace
}  // namespace chalkfold::trace
