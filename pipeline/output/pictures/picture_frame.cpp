// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/pictures/picture_frame.h"

#include <algorithm>
#include <cmath>

#include "pipeline/common/check_option.h"
#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::output {

Vec2 PictureFrame::picture_from_table(const Vec2& at_in_table) const {
  return (geometry::y_down_from_y_up(at_in_table, top) - Vec2(left, 0)) / mm_per_px;
}

Vec2 PictureFrame::table_from_picture(const Vec2& at_in_picture) const {
  // The flip is its own inverse.
  return geometry::y_down_from_y_up(at_in_picture * mm_per_px, top) + Vec2(left, 0);
}

void check(const PictureOptions& o) {
  check_option("pitch of the picture, mm/px,", o.mm_per_px, 0.01, 100);
  check_option("margin of the picture, mm,", o.margin, 0, 1000);
  check_option("least width of the picture, mm,", o.min_width, 0, 10000);
  check_option("grid of the picture, px,", o.grid_px, 1, 1024);
  check_option("distance of whiskers, mm,", o.whisker_every, 0.1, 10000);
  check_option("gain of whiskers", o.whisker_gain, 0, 10000);
  check_option("quality of the JPEG", o.jpeg_quality, 0, 100);
}

PictureFrame frame_around(const panel::Panel& panel, const PictureOptions& options) {
  check(options);
  require_at_least("points of the panel's outline", panel.outline.points.size(), 3);
  const geometry::Box box = geometry::bounding_box(panel.outline.points);
  // Room for the longest whisker, but no more than makes the panel small in its picture.
  constexpr double beyond_whisker = 5, most_margins = 3;
  const double margin =
      std::clamp(options.whisker_gain * panel.U_max + beyond_whisker, options.margin, most_margins * options.margin);
  const double width = std::max(box.size().x() + 2 * margin, options.min_width);
  const double height = box.size().y() + 2 * margin;
  PictureFrame frame;
  frame.left = box.centre().x() - 0.5 * width;
  frame.top = box.max.y() + margin;
  frame.mm_per_px = options.mm_per_px;
  frame.width_px = static_cast<int>(std::ceil(width / options.mm_per_px));
  frame.height_px = static_cast<int>(std::ceil(height / options.mm_per_px));
  return frame;
}

}  // namespace chalkfold::output
