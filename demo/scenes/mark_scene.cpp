// SPDX-License-Identifier: Apache-2.0
#include "demo/scenes/mark_scene.h"

#include <array>
#include <cmath>
#include <optional>
#include <stdexcept>

#include "demo/camera/chalk_cover.h"
#include "demo/design/mark_design.h"
#include "demo/scenes/mark_materials.h"
#include "demo/scenes/random_parts.h"

namespace chalkfold::demo {

namespace {

/// From barely visible to strong.
constexpr std::array contrasts = {1.5, 2.0, 3.0, 4.5, 7.0, 12.0, 20.0};

constexpr double highest = 1100;     // mm of the camera: then a millimetre is 2.6 px or more of 12 Mpx
constexpr double raised_by = 1.002;  // a trial, so that large panels find room too

RandomSceneOptions scene_options(const MarkSceneOptions& o) {
  RandomSceneOptions out;
  out.width_px = o.width_px;
  out.sheets_min = 3;
  out.sheets_max = 4;
  out.height_min = out.height_max = 600;  // as low as the sheets allow: the panel large in the picture
  out.tilt_max_deg = 18;
  out.portrait_share = 0.25;
  out.shadow_across_share = o.clutter ? 0.2 : 0;
  out.contrast_min = 2.5;  // the outline is not what is tried here
  out.sensor = o.sensor;
  return out;
}

LayOptions lay_options(Random& random, const MarkSceneOptions& o, const std::string& material, MarkScene& out) {
  LayOptions lay;
  lay.material = mark_material(material, random.next());
  lay.thickness = random.chance(0.2) ? random.uniform(2.5, 5) : random.uniform(0.9, 1.6);
  lay.wear.crooked = random.uniform(0, 1.5);
  lay.chalked = o.chalked;
  lay.chalk = chalk_for(lay.material, random.next());
  lay.chalk_broken = static_cast<float>(random.uniform(0.2, 0.75));
  lay.chalk_wobble = random.uniform(0.2, 0.6);
  // Two in three lines are of common widths; the rest reach to the ends of what is drawn.
  const double drawn = random.chance(0.66) ? random.uniform(1.8, 3.2) : random.uniform(1, 5);
  lay.chalk_width = o.chalk_width > 0 ? o.chalk_width : drawn;
  const double by_seed = contrasts[static_cast<std::size_t>(random.integer(0, static_cast<int>(contrasts.size()) - 1))];
  const ChalkTone tone = chalk_tone(lay.material, lay.chalk, lay.chalk_broken, o.contrast > 0 ? o.contrast : by_seed);
  lay.chalk_strength = tone.strength;
  out.contrast = o.chalked ? tone.contrast : 0;
  lay.seed = random.next();
  return lay;
}

/// Of several camera places the lowest, so that the panel is large; false when none shows everything.
bool place_camera_low(Random& random, const RandomSceneOptions& options, Scene& scene) {
  constexpr int places = 8;
  std::optional<calib::Pose> lowest;
  for (int k = 0; k < places; ++k) {
    if (!place_camera(random, options, scene)) continue;
    if (!lowest || scene.camera.pose.centre().z() < lowest->centre().z()) lowest = scene.camera.pose;
  }
  if (lowest) scene.camera.pose = *lowest;
  return lowest.has_value();
}

}  // namespace

MarkScene mark_scene(std::uint64_t seed, const MarkSceneOptions& o) {
  const RandomSceneOptions options = scene_options(o);
  constexpr int trials = 60;
  for (int trial = 0; trial < trials; ++trial) {
    Random random(mixed(seed * 1000 + static_cast<std::uint64_t>(trial)) ^ 0x3A2EULL);
    MarkScene out;
    const std::size_t pick = mixed(seed) % mark_materials.size();
    out.material = o.material.empty() ? mark_materials[pick] : o.material;
    Scene& scene = out.scene;
    scene.name = "marks-" + out.material + "-" + std::to_string(seed);
    scene.seed = seed;
    scene.sensor = o.sensor;
    scene.camera.lens = random_lens(random, options, scene);
    scene.camera.orientation = random.chance(options.portrait_share) ? (random.chance(0.5) ? 6 : 8) : 1;
    set_light(random, options, scene);
    MarkedPanel marked = mark_design(seed, {.marks = o.chalked, .clutter = o.clutter});
    LayOptions lay = lay_options(random, o, out.material, out);
    lay.clutter = std::move(marked.clutter);
    lay.table_from_panel = {random.uniform(0, full_turn), Vec2::Zero()};
    scene.panels.push_back(lay_panel(marked.design, lay));
    scene.table = random_table(random, lay.material, options);
    if (add_sheets(random, options, scene) && place_camera_low(random, options, scene) &&
        scene.camera.pose.centre().z() < highest * std::pow(raised_by, trial))
      return out;
  }
  throw std::logic_error("no mark scene for seed " + std::to_string(seed) + " in " + std::to_string(trials) +
                         " trials");
}

}  // namespace chalkfold::demo
