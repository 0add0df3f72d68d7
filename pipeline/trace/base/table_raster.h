// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

#include "pipeline/geometry/polygon.h"
#include "pipeline/survey/table_view.h"

namespace chalkfold::trace {

/// A rectified picture of the table at one height: x right, y of the table UP in the picture (row 0 is the largest y).
struct TableRaster {
  double mm_per_px = 1;
  /// table mm of the centre of pixel (0, 0)
  Vec2 top_left = Vec2::Zero();
  cv::Size size;
  Vec2 raster_from_table(const Vec2& p) const {
    return {(p.x() - top_left.x()) / mm_per_px, (top_left.y() - p.y()) / mm_per_px};
  }
  Vec2 table_from_raster(const Vec2& p) const {
    return {top_left.x() + p.x() * mm_per_px, top_left.y() - p.y() * mm_per_px};
  }
};

/// Raster over a box of the table.
TableRaster raster_over(const geometry::Box& box, double mm_per_px);

/// Camera heights from its foot: beyond, a tilted photo (63 degrees) shows the table too foreshortened to measure.
constexpr double view_reach = 2.0;

/// What the photo shows of the table at a height: its frame mapped to the table, no farther from the camera's foot than `reach` camera heights.
Polyline visible_table(const survey::TableView& view, double height, double reach = view_reach);

/// A CV_8UC3 photo made so many times smaller, each pixel the mean of a square: what cv::resize makes of it with INTER_AREA, in half its time.
cv::Mat reduced_by(int times, const cv::Mat& photo_bgr);

/// Photo px of every raster pixel: CV_32FC2, exact on a grid of `step` pixels and bilinear between (error some hundredths of a
/// photo pixel at step 8: enough for segmentation and pictures). `photo_scale` multiplies photo px, for photos reduced beforehand by area averaging.
cv::Mat photo_map(const TableRaster& raster, const survey::TableView& view, double height, double photo_scale,
                  int step = 8);

}  // namespace chalkfold::trace
