// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "demo/base/scene.h"

namespace chalkfold::demo {

/// An invented phone: main camera, 12 Mpx at width 4032, sensor frame.
calib::Lens phone_lens(int width_px = 4032);

/// 35 mm equivalent of a lens, by the diagonals.
double focal_35mm(const calib::Lens& lens);

/// One photo's lens: focal change by autofocus (share) and centre shift by the stabiliser (px at width 4032).
calib::Lens for_one_photo(const calib::Lens& phone, double focal_change, const Vec2& centre_shift_px);

struct CameraPlace {
  /// table point in the picture's middle
  Vec2 aim = Vec2::Zero();
  /// mm above the table
  double height = 1100;
  /// optical axis from the vertical
  double tilt_deg = 0;
  /// table direction in which the camera looks when tilted, from x
  double lean_deg = 90;
  /// table direction that points up in the picture, from x (90: the picture's up is +y)
  double turn_deg = 90;
};

/// Pose of the upright picture; never mirrored.
calib::Pose pose_at(const CameraPlace& place);

/// Borders of everything that lies on the table: name and outline, mm.
struct Thing {
  std::string name;
  Polyline border;
  enum class Kind { sheet, tag, panel, tool, paper } kind = Kind::panel;
};
std::vector<Thing> things(const Scene& scene);

/// What is wrong with a scene meant to be good: a sheet, tag or panel nearer than `frame_margin_px` (at width 4032) to
/// the frame, two things nearer than `gap` mm. Empty when all is well. Tools may leave the frame.
std::vector<std::string> layout_problems(const Scene& scene, double frame_margin_px = 25, double gap = 4);

/// True when the border lies in the photo with this margin (px, at the photo's own width).
bool inside_photo(const Camera& camera, const Polyline& border, double height, double margin_px);

/// Least distance between two regions, 0 when they overlap.
double gap_between(const Polyline& a, const Polyline& b);

}  // namespace chalkfold::demo
