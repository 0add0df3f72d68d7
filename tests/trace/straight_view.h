// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

#include "pipeline/survey/table_view.h"

namespace chalkfold::test {

/// A phone 1 m straight above the table's origin, its lens without distortion: x right, y away from the viewer.
inline survey::TableView::Solution straight_above(const cv::Size& photo, double px_per_mm) {
  constexpr double height = 1000;  // mm
  survey::TableView::Solution s;
  s.width = photo.width;
  s.height = photo.height;
  s.lens = {photo.width, photo.height, height * px_per_mm, 0.5 * (photo.width - 1), 0.5 * (photo.height - 1)};
  s.pose.rotation << 1, 0, 0, 0, -1, 0, 0, 0, -1;
  s.pose.translation = Vec3(0, 0, height);
  return s;
}

}  // namespace chalkfold::test
