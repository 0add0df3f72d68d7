// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/geometry/point.h"

namespace chalkfold::survey {

/// The sensor frame is the picture as the sensor read it; `quarter_turns` clockwise turns bring it upright (frame `photo`). One phone has one lens
/// in the sensor frame, however it was held. width and height are those of the upright photo.
struct SensorFrame {
  int width = 0, height = 0;
  int quarter_turns = 0;

  int sensor_width() const { return quarter_turns % 2 == 0 ? width : height; }
  int sensor_height() const { return quarter_turns % 2 == 0 ? height : width; }

  Vec2 sensor_from_photo(const Vec2& p) const {
    switch (quarter_turns) {
      case 1:
        return {p.y(), width - 1 - p.x()};
      case 2:
        return {width - 1 - p.x(), height - 1 - p.y()};
      case 3:
        return {height - 1 - p.y(), p.x()};
      default:
        return p;
    }
  }
  Vec2 photo_from_sensor(const Vec2& p) const {
    switch (quarter_turns) {
      case 1:
        return {width - 1 - p.y(), p.x()};
      case 2:
        return {width - 1 - p.x(), height - 1 - p.y()};
      case 3:
        return {p.y(), height - 1 - p.x()};
      default:
        return p;
    }
  }
};

/// Clockwise quarter turns that an EXIF orientation (1..8) asks for. A mirrored orientation (2, 4, 5, 7) is told apart only by its turn.
inline int quarter_turns_of_orientation(int orientation) {
  switch (orientation) {
    case 3:
    case 4:
      return 2;
    case 5:
    case 6:
      return 1;
    case 7:
    case 8:
      return 3;
    default:
      return 0;
  }
}

}  // namespace chalkfold::survey
