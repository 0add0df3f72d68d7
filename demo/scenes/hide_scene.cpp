// SPDX-License-Identifier: Apache-2.0
#include <array>

#include "demo/camera/chalk_cover.h"
#include "demo/design/hide_design.h"
#include "demo/design/lay_panel.h"
#include "demo/scenes/mark_materials.h"
#include "demo/scenes/scene_parts.h"
#include "demo/scenes/scenes.h"

namespace chalkfold::demo {

std::vector<Scene> hide_scenes(int width_px, double contrast) {
  std::vector<Scene> scenes;
  constexpr int upright = 6;  // a phone held upright: the longer side of the picture points away
  const std::array<PhotoPlan, 2> plans = {
      PhotoPlan{"hide-left", upright, {{-305, 0}, 1130, 5, 80, 91}, 0.003, {5, -4}},
      PhotoPlan{"hide-right", upright, {{305, 0}, 1120, 7, 110, 89}, -0.002, {-6, 3}}};
  Material leather = covering(Covering::leather, 0x6A4630, 51);
  const Colour chalk{0.85F, 0.85F, 0.82F};
  constexpr float broken = 0.45F;
  for (const PhotoPlan& plan : plans) {
    Scene s = planned(plan, 1050, width_px);
    s.seed += scenes.size();  // of the noise
    s.table = table_of(TableTop::laminate, 0xC9CCC6, 3, 52);
    s.light.gradient = {-0.06, 0.05};
    s.panels.push_back(
        lay_panel(hide_design(), {.table_from_panel = placed(0, 0, 1),
                                  .thickness = 1.2,
                                  .material = leather,
                                  .chalk = chalk,
                                  .chalk_width = 2.6,
                                  .chalk_strength = chalk_tone(leather, chalk, broken, contrast).strength,
                                  .chalk_broken = broken,
                                  .seed = 151}));
    s.sheets = {{1, {-738, 20}, 1 * degree},  {2, {742, -20}, -2 * degree},  {3, {-60, 545}, 91 * degree},
                {4, {70, -530}, 89 * degree}, {5, {-450, 575}, 88 * degree}, {6, {-450, -560}, 90 * degree},
                {7, {455, 560}, 92 * degree}, {8, {450, -575}, 91 * degree}};
    scenes.push_back(std::move(s));
  }
  return scenes;
}

Scene offcut_scene(std::uint64_t seed, double contrast, const std::string& material, int width_px) {
  Scene s =
      planned({"offcut-" + std::to_string(seed), 1, {{0, 0}, 760, 6, 70, 90}, 0.002, {3, 2}}, 1100 + seed, width_px);
  const Material cover = mark_material(material, seed);
  const Colour chalk = chalk_for(cover, seed);
  constexpr float broken = 0.5F;
  s.table = luminance(mean_reflectance(cover)) > 0.25F ? table_of(TableTop::plain, 0x4A4E50, 0, 61)
                                                       : table_of(TableTop::plain, 0xD9D6CE, 0, 61);
  s.panels.push_back(lay_panel(offcut_design(), {.table_from_panel = placed(0, 0, 7.0 * static_cast<double>(seed % 5)),
                                                 .thickness = 1.2,
                                                 .material = cover,
                                                 .chalk = chalk,
                                                 .chalk_width = 2.2,
                                                 .chalk_strength = chalk_tone(cover, chalk, broken, contrast).strength,
                                                 .chalk_broken = broken,
                                                 .seed = 160 + seed}));
  s.sheets = {{1, {-385, 30}, 1 * degree}, {2, {390, -20}, -1 * degree}};
  return s;
}

}  // namespace chalkfold::demo
