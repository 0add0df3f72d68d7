// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>

#include "calib/sheet_layout.h"
#include "demo/base/noise.h"
#include "demo/design/lay_panel.h"
#include "demo/design/tool_shapes.h"
#include "demo/scenes/random_parts.h"
#include "demo/scenes/scene_layout.h"
#include "demo/scenes/scenes.h"

namespace chalkfold::demo {

namespace {

struct Dye {
  std::uint32_t first, second;
};
constexpr std::array<Dye, 10> dyes = {{{0x262A2E, 0x4A5058},
                                       {0x2B3A55, 0x6F86A8},
                                       {0x7A2F2B, 0xC9A27E},
                                       {0xB98A57, 0x7B5733},
                                       {0xD9CDB4, 0xA8977A},
                                       {0x5C636B, 0x8C949C},
                                       {0x3E5A45, 0x93A98B},
                                       {0xE6E2DA, 0x8FA3B5},
                                       {0x8A6A4C, 0xC9B08E},
                                       {0x6E4B6A, 0xB79AB0}}};

Material random_material(Random& random) {
  constexpr std::array kinds = {Covering::vinyl,    Covering::leather, Covering::woven,
                                Covering::corduroy, Covering::check,   Covering::stripe};
  const Dye& dye = dyes[static_cast<std::size_t>(random.integer(0, static_cast<int>(dyes.size()) - 1))];
  Material m;
  m.covering = kinds[static_cast<std::size_t>(random.integer(0, static_cast<int>(kinds.size()) - 1))];
  m.colour = colour_from_srgb(dye.first);
  m.second = colour_from_srgb(dye.second);
  m.period = static_cast<float>(random.uniform(14, 40));
  m.seed = static_cast<std::uint32_t>(random.next());
  return m;
}

bool add_panels(Random& random, const RandomSceneOptions& o, Scene& scene) {
  std::vector<DesignKind> kinds(launch_set.begin(), launch_set.end());
  const int count = random.integer(o.panels_min, o.panels_max);
  const Material material = random_material(random);
  const bool frayed = random.chance(o.frayed_share);
  const double thickness = random.chance(o.thick_share) ? random.uniform(3, 8) : random.uniform(0.8, 1.6);
  const bool light_cloth = luminance(mean_reflectance(material)) > 0.25F;
  for (int n = 0; n < count; ++n) {
    const int pick = random.integer(n, static_cast<int>(kinds.size()) - 1);
    std::swap(kinds[static_cast<std::size_t>(n)], kinds[static_cast<std::size_t>(pick)]);
    const PanelDesign design = panel_design(kinds[static_cast<std::size_t>(n)]);
    LayOptions lay{.table_from_panel = {}, .thickness = thickness, .material = material};
    lay.wear = {design.symmetric ? random.uniform(0, 2) : 0.0, random.uniform(0, 2.5)};
    lay.frayed = frayed;
    lay.loose_threads = frayed ? random.integer(0, 3) : 0;
    lay.chalked = o.chalked;
    lay.chalk = light_cloth ? colour_from_srgb(0x31589B) : Colour{0.85F, 0.85F, 0.82F};
    lay.chalk_width = random.uniform(1.2, 2.6);
    lay.seed = random.next();
    if (count > 1) lay.tag = n + 1;
    const std::vector<Thing> taken = things(scene);
    bool done = false;
    for (int trial = 0; trial < 40 && !done; ++trial) {
      const double direction = random.uniform(0, full_turn), away = n == 0 ? 0 : 150 + 12.0 * trial;
      lay.table_from_panel = {random.uniform(0, full_turn), away * Vec2(std::cos(direction), std::sin(direction))};
      LaidPanel panel = lay_panel(design, lay);
      constexpr double gap = 22;  // mm, room for frayed threads
      if (least_gap(taken, panel.outline) < gap) continue;
      scene.panels.push_back(std::move(panel));
      done = true;
    }
    if (!done) return false;
  }
  scene.table = random_table(random, material, o);
  return true;
}

/// True when a tag lying here can only be meant for this panel.
bool belongs_to(const Polyline& card, const Scene& scene, const LaidPanel& panel) {
  constexpr double clearly = 20;  // mm nearer than to any other panel
  const double own = gap_between(panel.outline, card);
  return std::all_of(scene.panels.begin(), scene.panels.end(), [&](const LaidPanel& other) {
    return &other == &panel || gap_between(other.outline, card) > own + clearly;
  });
}

bool add_tags(Random& random, Scene& scene) {
  const Vec2 card = Vec2::Constant(sheet::tag_card);
  for (const LaidPanel& panel : scene.panels) {
    if (!panel.tag) continue;
    const double first = random.uniform(0, full_turn), theta = random.uniform(-0.3, 0.3);
    constexpr int directions = 12;
    bool done = false;
    for (int k = 0; k < directions && !done; ++k) {
      const auto at = slid_out(things(scene), geometry::centroid(panel.outline), first + full_turn * k / directions,
                               theta, card, 8, 420);
      done = at && belongs_to(rectangle_on_table(*at, theta, card.x(), card.y()), scene, panel);
      if (done) scene.tags.push_back({*panel.tag, *at, theta});
    }
    if (!done) return false;
  }
  return true;
}

void add_tools(Random& random, const RandomSceneOptions& o, Scene& scene) {
  if (!random.chance(o.tools_share)) return;
  constexpr std::array kinds = {ToolKind::steel_rule, ToolKind::chalk_stick, ToolKind::scissors, ToolKind::thread_coil};
  const ToolKind kind = kinds[static_cast<std::size_t>(random.integer(0, 3))];
  const double theta = random.uniform(0, full_turn), r = tool_radius(kind);
  const double wide = kind == ToolKind::thread_coil ? 2 * r : kind == ToolKind::scissors ? 110 : 30;
  const auto at = slid_out(things(scene), Vec2::Zero(), random.uniform(0, full_turn), theta, {2 * r, wide}, 20, 900);
  if (at) scene.tools.push_back({kind, *at, theta, static_cast<std::uint32_t>(random.next())});
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
