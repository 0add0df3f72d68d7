// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string>

#include "demo/base/scene.h"
#include "demo/camera/sensor.h"

namespace chalkfold::demo {

struct MarkSceneOptions {
  /// 12 Mpx; 2016 renders in a fourth of the time
  int width_px = 4032;
  /// of mark_materials; empty: by the seed
  std::string material{};
  /// of the chalk, see chalk_tone; 0: by the seed, strong to barely visible
  double contrast = 0;
  /// mm; 0: by the seed, 1 to 5
  double chalk_width = 0;
  /// false: no mark of any kind, only what might be taken for one
  bool chalked = true;
  /// creases, a decorative seam, a thread, the edge of a shadow
  bool clutter = true;
  Sensor sensor = phone_sensor();
};

/// What a mark scene came out as.
struct MarkScene {
  Scene scene;
  std::string material;
  /// that the chalk reaches; 0 without chalk
  double contrast = 0;
};

/// One panel with marks of every kind, large in the picture, three or four sheets around it, moderate tilt. For trying the
/// reading of marks. The same seed and options give the same scene. Throws std::logic_error for an unknown material.
MarkScene mark_scene(std::uint64_t seed, const MarkSceneOptions& options = {});

}  // namespace chalkfold::demo
