// SPDX-License-Identifier: Apache-2.0
#include "demo/scenes/hard_scene.h"

#include <algorithm>
#include <stdexcept>

#include "demo/scenes/hard_parts.h"
#include "demo/scenes/hard_tables.h"

namespace chalkfold::demo {

namespace {

/// Panels of the set that look alike, each different; with tags when there are several.
bool add_alike(Random& random, int count, PanelLook look, Scene& scene) {
  std::vector<DesignKind> kinds(launch_set.begin(), launch_set.end());
  for (int n = 0; n < count; ++n) {
    const int pick = random.integer(n, static_cast<int>(kinds.size()) - 1);
    std::swap(kinds[static_cast<std::size_t>(n)], kinds[static_cast<std::size_t>(pick)]);
    if (count > 1) look.tag = n + 1;
    if (!add_panel(random, panel_design(kinds[static_cast<std::size_t>(n)]), look, scene)) return false;
  }
  return true;
}

double usual_thickness(Random& random) { return random.chance(0.25) ? random.uniform(3, 8) : random.uniform(0.8, 1.6); }

PanelLook usual_look(Random& random, const Material& material) {
  PanelLook look;
  look.material = material;
  look.frayed = random.chance(0.3);
  look.thickness = usual_thickness(random);
  return look;
}

bool lay_hard_shadow(Random& random, const RandomSceneOptions& o, Scene& scene) {
  const double left = random.uniform(0.3, 0.7);
  PanelAndTable both;
  if (random.chance(0.5)) {
    both = bright_as_shade(random, left);
  } else {
    both.material = random_material(random);
    both.table = random_table(random, both.material, o);
  }
  scene.table = both.table;
  if (!add_alike(random, random.integer(1, 2), usual_look(random, both.material), scene)) return false;
  cast_hard_shadow(random, left, scene);
  return true;
}

bool lay_over_sheet(Random& random, const RandomSceneOptions& o, Scene& scene) {
  const Material material = random_material(random);
  scene.table = random_table(random, material, o);
  if (!add_alike(random, random.integer(1, 2), usual_look(random, material), scene)) return false;
  return add_covered_sheets(random, random.integer(1, 2), scene);
}

bool lay_frayed_pattern(Random& random, const RandomSceneOptions& o, Scene& scene) {
  PanelLook look;
  look.material = patterned_material(random);
  look.thickness = random.uniform(0.8, 2.0);
  look.frayed = true;
  look.longest_fray = random.uniform(4, 9);
  look.loose_min = 2, look.loose_max = 6;
  scene.table = random_table(random, look.material, o);
  return add_alike(random, random.integer(1, 3), look, scene);
}

/// Those whose panel and table are chosen together.
bool lay_pair(Random& random, const PanelAndTable& both, Scene& scene) {
  scene.table = both.table;
  return add_alike(random, random.integer(1, 2), usual_look(random, both.material), scene);
}

bool lay_light_on_light(Random& random, Scene& scene) {
  if (!lay_pair(random, light_on_light(random), scene)) return false;
  add_papers(random, scene);
  return !scene.papers.empty();
}

bool lay_close_panels(Random& random, const RandomSceneOptions& o, Scene& scene) {
  if (!add_close_panels(random, scene)) return false;
  scene.table = random_table(random, scene.panels[0].material, o);
  return std::all_of(scene.panels.begin(), scene.panels.end(), [&](const LaidPanel& p) {
    const float a = luminance(mean_reflectance(p.material)), b = luminance(scene.table.colour);
    return std::max(a, b) > 1.3F * std::min(a, b);
  });
}

bool lay_slots(Random& random, const RandomSceneOptions& o, Scene& scene) {
  PanelLook look;
  look.material = random_material(random);
  const bool shaded = random.chance(0.5);
  look.thickness = shaded ? random.uniform(3, 6) : random.uniform(0.8, 1.6);
  if (shaded) scene.light.elevation = random.uniform(0.55, 0.8);
  scene.table = random_table(random, look.material, o);
  const int count = random.integer(1, 2);
  for (int n = 0; n < count; ++n) {
    if (count > 1) look.tag = n + 1;
    const auto design = slotted_design(random, random_design(random));
    if (!design || !add_panel(random, *design, look, scene)) return false;
  }
  return count == 1 || scene.panels[0].name != scene.panels[1].name;
}

bool lay_panels(const std::string& kind, Random& random, const RandomSceneOptions& o, Scene& scene) {
  if (kind == "hard-shadow") return lay_hard_shadow(random, o, scene);
  if (kind == "over-sheet") return lay_over_sheet(random, o, scene);
  if (kind == "frayed-pattern") return lay_frayed_pattern(random, o, scene);
  if (kind == "near-colour") return lay_pair(random, near_colours(random), scene);
  if (kind == "grained-table") return lay_pair(random, plain_on_grained(random), scene);
  if (kind == "light-on-light") return lay_light_on_light(random, scene);
  if (kind == "close-panels") return lay_close_panels(random, o, scene);
  return lay_slots(random, o, scene);
}

/// Two to four in all; of those beside covered ones two lie bare.
bool add_bare_sheets(Random& random, RandomSceneOptions o, Scene& scene) {
  const int covered = static_cast<int>(scene.sheets.size());
  if (covered > 0) o.sheets_min = 2, o.sheets_max = 4 - covered;
  if (!add_sheets(random, o, scene)) return false;
  number_sheets(random, scene);
  return true;
}

std::string kind_of(std::uint64_t seed, const std::string& asked) {
  if (asked.empty()) return hard_kinds[static_cast<std::size_t>((seed + hard_kinds.size() - 1) % hard_kinds.size())];
  if (std::find(hard_kinds.begin(), hard_kinds.end(), asked) == hard_kinds.end())
    throw std::logic_error("no kind of scene is called " + asked);
  return asked;
}

}  // namespace

Scene hard_scene(std::uint64_t seed, const HardSceneOptions& options) {
  RandomSceneOptions o;
  o.width_px = options.width_px;
  o.sheets_min = 2;
  o.shadow_across_share = 0;
  const std::string kind = kind_of(seed, options.kind);
  constexpr int trials = 200;
  for (int trial = 0; trial < trials; ++trial) {
    Random random(mixed(seed * 1000 + static_cast<std::uint64_t>(trial)) ^ 0x4A2DULL);
    Scene scene;
    scene.name = kind + "-" + std::to_string(seed);
    scene.kind = kind;
    scene.seed = seed;
    scene.phone.back() = static_cast<char>('1' + random.integer(0, 3));
    scene.sensor = options.sensor;
    scene.camera.lens = random_lens(random, o, scene);
    scene.camera.orientation = random.chance(o.portrait_share) ? (random.chance(0.5) ? 6 : 8) : 1;
    set_light(random, o, scene);
    if (!lay_panels(kind, random, o, scene) || !add_tags(random, scene) || !add_bare_sheets(random, o, scene)) continue;
    add_tools(random, o, scene);
    if (place_camera(random, o, scene)) return scene;
  }
  throw std::logic_error("no scene " + kind + " for seed " + std::to_string(seed) + " in " + std::to_string(trials) +
                         " trials");
}

}  // namespace chalkfold::demo
