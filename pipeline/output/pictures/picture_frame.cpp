// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/pictures/picture_frame.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "pipeline/geometry/polygon.h"

namespace chalkfold::output {

Vec2 PictureFrame::picture_from_table(const Vec2& at_in_table) const {
  return (geometry::y_down_from_y_up(at_in_table, top) - Vec2(left, 0)) / mm_per_px;
}

Vec2 PictureFrame::table_from_picture(const Vec2& at_in_picture) const {
  // The flip is its own inverse.
  return geometry::y_down_from_y_up(at_in_picture * mm_per_px, top) + Vec2(left, 0);
}

PictureFrame frame_around(const panel::Panel& panel, const PictureOptions& options) {
  if (panel.outline.points.size() < 3) throw std::logic_error("picture of a panel without an outline");
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
