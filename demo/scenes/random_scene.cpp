// SPDX-License-Identifier: Apache-2.0
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "demo/base/noise.h"
#include "demo/design/panel_design.h"
#include "demo/scenes/random_parts.h"
#include "demo/scenes/scene_layout.h"
#include "demo/scenes/scenes.h"

namespace chalkfold::demo {

namespace {

bool add_panels(Random& random, const RandomSceneOptions& o, Scene& scene) {
  std::vector<DesignKind> kinds(launch_set.begin(), launch_set.end());
  const int count = random.integer(o.panels_min, o.panels_max);
  PanelLook look;
  look.material = random_material(random);
  look.frayed = random.chance(o.frayed_share);
  look.thickness = random.chance(o.thick_share) ? random.uniform(3, 8) : random.uniform(0.8, 1.6);
  look.chalked = o.chalked;
  for (int n = 0; n < count; ++n) {
    const int pick = random.integer(n, static_cast<int>(kinds.size()) - 1);
    std::swap(kinds[static_cast<std::size_t>(n)], kinds[static_cast<std::size_t>(pick)]);
    if (count > 1) look.tag = n + 1;
    if (!add_panel(random, panel_design(kinds[static_cast<std::size_t>(n)]), look, scene)) return false;
  }
  scene.table = random_table(random, look.material, o);
  return true;
}

}  // namespace

Scene random_scene(std::uint64_t seed, const RandomSceneOptions& o) {
  constexpr int trials = 60;
  for (int trial = 0; trial < trials; ++trial) {
    Random random(mixed(seed * 1000 + static_cast<std::uint64_t>(trial)));
    Scene scene;
    scene.name = std::to_string(seed).insert(0, "random-");
    scene.seed = seed;
    scene.phone.back() = static_cast<char>('1' + random.integer(0, 3));
    scene.sensor = o.sensor;
    scene.camera.lens = random_lens(random, o, scene);
    scene.camera.orientation = random.chance(o.portrait_share) ? (random.chance(0.5) ? 6 : 8) : 1;
    scene.print_scale.x = 1 + clipped_normal(random, o.print_scale_sigma);
    scene.print_scale.y = 1 + clipped_normal(random, o.print_scale_sigma);
    set_light(random, o, scene);
    if (!add_panels(random, o, scene) || !add_tags(random, scene) || !add_sheets(random, o, scene)) continue;
    add_tools(random, o, scene);
    if (place_camera(random, o, scene)) return scene;
  }
  throw std::logic_error("no random scene for seed " + std::to_string(seed) + " in " + std::to_string(trials) +
                         " trials");
}

}  // namespace chalkfold::demo
