// SPDX-License-Identifier: Apache-2.0
#include <array>

#include "demo/design/lay_panel.h"
#include "demo/scenes/scene_parts.h"
#include "demo/scenes/scenes.h"

namespace chalkfold::demo {

std::vector<Scene> bench_scenes(int width_px) {
  std::vector<Scene> scenes;
  const std::array<PhotoPlan, 2> plans = {PhotoPlan{"bench-left", 1, {{-385, 5}, 1010, 9, 100, 91}, 0.003, {4, -6}},
                                          PhotoPlan{"bench-right", 1, {{390, -5}, 1030, 12, 60, 88}, -0.004, {-7, 5}}};
  for (const PhotoPlan& plan : plans) {
    Scene s = planned(plan, 1010, width_px);
    s.seed += scenes.size();  // of the noise
    s.table = table_of(TableTop::wood, 0xCBA677, 2, 34);
    s.light.gradient = {0.08, -0.05};
    s.panels.push_back(lay_panel(panel_design(DesignKind::bench), {.table_from_panel = placed(0, 0, 1.5),
                                                                   .thickness = 1.2,
                                                                   .tag = 10,
                                                                   .material = covering(Covering::vinyl, 0x2B3A55, 35),
                                                                   .wear = {.stretch_right_percent = 0.9, .crooked = 2},
                                                                   .seed = 110}));
    s.sheets = {{12, {-25, 376}, 91 * degree},  {13, {30, -378}, 88 * degree},   {14, {-890, 150}, 4 * degree},
                {15, {890, -140}, -3 * degree}, {16, {-480, -377}, 92 * degree}, {17, {490, 372}, 86 * degree}};
    s.tags = {{10, {-420, 330}, 0.1}};
    scenes.push_back(std::move(s));
  }
  return scenes;
}

std::vector<Scene> launch_job(int width_px) {
  std::vector<Scene> scenes;
  scenes.reserve(launch_photos);
  for (int k = 0; k < launch_photos; ++k) scenes.push_back(launch_scene(k, width_px));
  for (Scene& scene : bench_scenes(width_px)) scenes.push_back(std::move(scene));
  constexpr int sides = 1;
  Scene shaken = launch_scene(sides, width_px);
  shaken.name = "sides-shaken";
  shaken.seed += 50;
  shaken.sensor.blur_px = 3.6 * width_px / 4032;
  scenes.push_back(std::move(shaken));
  return scenes;
}

std::vector<Scene> mosaic_scenes(int width_px) {
  std::vector<Scene> scenes;
  constexpr std::array<const char*, 4> names = {"mat-1", "mat-2", "mat-3", "mat-4"};
  for (std::size_t k = 0; k < names.size(); ++k) {
    const double x = k % 2 == 0 ? -300 : 300, y = k < 2 ? 220 : -220, sway = 3.0 * static_cast<double>(k);
    Scene s = planned({names[k],
                       1,
                       {{x, y}, 1100 + 2 * sway, 4 + sway / 2, 40 + 20 * sway, 92 - sway / 2},
                       0.002 - 0.001 * sway / 3,
                       {sway, -sway}},
                      1020 + k, width_px);
    s.table = table_of(TableTop::cement, 0xA9A7A1, 0, 36);
    s.panels.push_back(lay_panel(panel_design(DesignKind::mat), {.table_from_panel = placed(0, 0, -1),
                                                                 .thickness = 1.2,
                                                                 .material = covering(Covering::leather, 0x5A3A2A, 37),
                                                                 .wear = {.crooked = 1.5},
                                                                 .seed = 111}));
    s.sheets = {{1, {-165, 600}, 91 * degree}, {2, {160, 605}, 89 * degree}, {3, {-165, -602}, 90 * degree},
                {4, {165, -600}, 92 * degree}, {5, {-822, 165}, 2 * degree}, {6, {-820, -160}, -1 * degree},
                {7, {822, 160}, 1 * degree},   {8, {820, -165}, -2 * degree}};
    scenes.push_back(std::move(s));
  }
  return scenes;
}

}  // namespace chalkfold::demo
