// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <string>

#include "demo/base/scene.h"
#include "demo/camera/sensor.h"

namespace chalkfold::demo {

/// What makes a photograph untidy; a scene has one of them.
/// hard-shadow      the sharp edge of a shadow (of something large, of a rod, of a head) over panel and table, 0.3 to 0.7 of the light left;
///                  in half of them the lit panel is about as bright as the shaded table
/// over-sheet       a panel over the margin and some squares of one or two sheets; two others at least lie bare
/// frayed-pattern   checked, striped or plaid panels with frayed edges and loose threads
/// near-colour      panel and table 1.05 to 1.3 apart in luminance, or equal in it and of another hue
/// grained-table    a plain panel on strongly grained wood, a coarse weave, checked, striped or plaid cloth
/// light-on-light   a pale panel on a pale table, blank white paper beside it
/// close-panels     two or three panels 0 to 10 mm apart, some cut from one and touching along the cut; one material in half of them
/// slots            panels with 1 to 3 slots, 4 to 15 mm wide and 20 to 120 mm deep, straight or curved, and an inner corner of 30 to 90 degrees
inline constexpr std::array hard_kinds = {"hard-shadow",   "over-sheet",     "frayed-pattern", "near-colour",
                                          "grained-table", "light-on-light", "close-panels",   "slots"};

struct HardSceneOptions {
  int width_px = 4032;
  /// of hard_kinds; empty: in turn by the seed, the first with seed 1
  std::string kind{};
  Sensor sensor = phone_sensor();
};

/// A scene by chance of an untidy kind, named KIND-SEED; else as random_scene, with two to four sheets printed true. The same seed and
/// options give the same scene. Throws std::logic_error for a kind that is none.
Scene hard_scene(std::uint64_t seed, const HardSceneOptions& options = {});

}  // namespace chalkfold::demo
