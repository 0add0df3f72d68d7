// SPDX-License-Identifier: Apache-2.0
#include "demo/base/scene.h"

#include <stdexcept>
#include <utility>

namespace chalkfold::demo {

calib::Lens upright_lens(const Camera& camera) {
  calib::Lens lens = camera.lens;
  const double right = camera.lens.width - 1.0, bottom = camera.lens.height - 1.0;
  const double cx = lens.centre_x_px, cy = lens.centre_y_px;
  switch (camera.orientation) {
    case 1:
      return lens;
    case 3:
      lens.centre_x_px = right - cx, lens.centre_y_px = bottom - cy;
      lens.p1 = -lens.p1, lens.p2 = -lens.p2;
      return lens;
    case 6:  // upright x = bottom - stored y, upright y = stored x; (p2, p1) turns like a vector
      std::swap(lens.width, lens.height);
      lens.centre_x_px = bottom - cy, lens.centre_y_px = cx;
      lens.p2 = -camera.lens.p1, lens.p1 = camera.lens.p2;
      return lens;
    case 8:
      std::swap(lens.width, lens.height);
      lens.centre_x_px = cy, lens.centre_y_px = right - cx;
      lens.p2 = camera.lens.p1, lens.p1 = -camera.lens.p2;
      return lens;
    default:
      throw std::logic_error("EXIF orientation " + std::to_string(camera.orientation) + " is none of 1, 3, 6, 8");
  }
}

Polyline rectangle_on_table(const Vec2& at, double theta, double width, double height) {
  const geometry::Rigid2 table_from_page{theta, at};
  const double x = width / 2, y = height / 2;
  return {table_from_page * Vec2(-x, -y), table_from_page * Vec2(x, -y), table_from_page * Vec2(x, y),
          table_from_page * Vec2(-x, y)};
}

}  // namespace chalkfold::demo
