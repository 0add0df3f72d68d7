// SPDX-License-Identifier: Apache-2.0
#include <array>
#include <string>

#include "demo/design/lay_panel.h"
#include "demo/scenes/scene_parts.h"
#include "demo/scenes/scenes.h"

namespace chalkfold::demo {

namespace {

/// How a photo is taken.
struct PhotoView {
  int orientation = 1;
  CameraPlace camera;
};

}  // namespace

std::vector<Scene> lens_scenes(int width_px) {
  // Leaning to each side and each corner, aimed so that now one and now another of the picture's corners is full of sheets.
  const std::array<PhotoView, 12> views = {{{1, {{0, 0}, 415, 22, 90, 90}},
                                            {1, {{10, -5}, 420, 28, 270, 90}},
                                            {1, {{-10, 0}, 415, 25, 0, 90}},
                                            {1, {{5, 5}, 430, 29, 180, 90}},
                                            {3, {{20, 15}, 430, 21, 45, 90}},
                                            {1, {{-25, 10}, 435, 26, 135, 90}},
                                            {3, {{20, -20}, 440, 24, 225, 90}},
                                            {1, {{-20, -15}, 430, 30, 315, 90}},
                                            {6, {{40, 0}, 440, 23, 90, 90}},
                                            {8, {{-40, 5}, 440, 27, 0, 90}},
                                            {6, {{-60, -10}, 430, 25, 200, 90}},
                                            {8, {{60, 10}, 430, 22, 290, 90}}}};
  std::vector<Scene> scenes;
  for (const PhotoView& view : views) {
    const std::string name = "lens-" + std::to_string(scenes.size() + 1);
    Scene s = planned({name, view.orientation, view.camera}, 1200 + scenes.size(), width_px);
    s.table = table_of(TableTop::laminate, 0xB9B2A6, 3, 41);
    s.sheets = {{1, {-152, 108}, 90 * degree},
                {2, {152, 109}, 90.3 * degree},
                {3, {-152, -108}, -90 * degree},
                {4, {152, -108}, 89.7 * degree}};
    scenes.push_back(std::move(s));
  }
  return scenes;
}

std::vector<Scene> one_sheet_scenes(int width_px) {
  struct View {
    PhotoView photo;
    double focal_change;
    Vec2 centre_shift_px;
    SheetOnTable sheet;
    double panel_turn_deg;
  };
  const std::array<View, 8> views = {
      {{{1, {{-75, 0}, 890, 6, 100, 90}}, 0.004, {5, -8}, {1, {-415, 60}, 4 * degree}, 2},
       {{1, {{75, 0}, 930, 20, 20, 91}}, -0.006, {-9, 3}, {2, {412, -80}, -6 * degree}, -3},
       {{6, {{0, 75}, 880, 14, 250, 92}}, 0.002, {7, 9}, {3, {-40, 400}, 88 * degree}, 4},
       {{8, {{0, -75}, 900, 22, 330, 88}}, -0.003, {-4, -11}, {4, {70, -395}, 93 * degree}, -5},
       {{1, {{-75, 0}, 980, 26, 200, 89}}, 0.008, {11, 2}, {5, {-420, -120}, 10 * degree}, 1},
       {{3, {{75, 0}, 900, 11, 60, 93}}, -0.001, {-6, 6}, {6, {420, 120}, -12 * degree}, 6},
       {{6, {{0, 75}, 930, 24, 140, 87}}, 0.005, {3, -5}, {7, {110, 400}, 91 * degree}, -2},
       {{1, {{-75, 5}, 930, 17, 290, 90}}, -0.007, {-10, -3}, {8, {-440, 130}, 86 * degree}, 3}}};
  std::vector<Scene> scenes;
  for (const View& view : views) {
    const std::string name = "one-sheet-" + std::to_string(scenes.size() + 1);
    Scene s = planned({name, view.photo.orientation, view.photo.camera, view.focal_change, view.centre_shift_px},
                      1220 + scenes.size(), width_px);
    s.table = table_of(TableTop::wood, 0xD8B283, 4, 42);
    s.panels.push_back(
        lay_panel(panel_design(DesignKind::cushion_top), {.table_from_panel = placed(0, 0, view.panel_turn_deg),
                                                          .thickness = 1.2,
                                                          .material = covering(Covering::vinyl, 0x2B3A55, 43),
                                                          .wear = {.stretch_right_percent = 1.2, .crooked = 1.5},
                                                          .seed = 112}));
    s.sheets = {view.sheet};
    scenes.push_back(std::move(s));
  }
  return scenes;
}

}  // namespace chalkfold::demo
