// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <numbers>
#include <string>

#include "demo/base/scene.h"
#include "demo/scenes/scene_layout.h"

namespace chalkfold::demo {

// What planned scenes are put together from.

inline constexpr double degree = std::numbers::pi / 180;

struct PhotoPlan {
  std::string name;
  int orientation = 1;
  CameraPlace camera;
  double focal_change = 0;
  Vec2 centre_shift_px = Vec2::Zero();
};

/// A scene by the invented phone, its sensor's noise on, with nothing on the table yet.
Scene planned(const PhotoPlan& plan, std::uint64_t seed, int width_px);

geometry::Rigid2 placed(double x, double y, double turn_deg);

Table table_of(TableTop top, std::uint32_t srgb, double turn_deg, std::uint32_t seed);

Material covering(Covering kind, std::uint32_t srgb, std::uint32_t seed);

}  // namespace chalkfold::demo
