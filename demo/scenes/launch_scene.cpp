// SPDX-License-Identifier: Apache-2.0
#include <stdexcept>
#include <string>

#include "demo/design/lay_panel.h"
#include "demo/scenes/scene_parts.h"
#include "demo/scenes/scenes.h"

namespace chalkfold::demo {

namespace {

/// The same worn panel in both of its photographs.
LaidPanel cushion(const geometry::Rigid2& place) {
  return lay_panel(panel_design(DesignKind::cushion_top), {.table_from_panel = place,
                                                           .thickness = 1.2,
                                                           .tag = 1,
                                                           .material = covering(Covering::vinyl, 0x2B3A55, 11),
                                                           .wear = {.stretch_right_percent = 1.2, .crooked = 1.5},
                                                           .seed = 101});
}

Scene cushion_and_front(int width_px) {
  Scene s = planned({"cushion-and-front", 1, {{0, 10}, 1130, 12, 80, 88}, 0.004, {6, -9}}, 1001, width_px);
  s.table = table_of(TableTop::wood, 0xD8B283, 4, 21);
  s.light.gradient = {0.12, -0.06};
  s.panels.push_back(cushion(placed(0, 90, 4)));
  s.panels.push_back(lay_panel(panel_design(DesignKind::front), {.table_from_panel = placed(-5, -275, -3),
                                                                 .thickness = 1.2,
                                                                 .tag = 2,
                                                                 .material = covering(Covering::vinyl, 0x2B3A55, 12),
                                                                 .wear = {.stretch_right_percent = 0.8, .crooked = 1},
                                                                 .seed = 102}));
  s.sheets = {{1, {-445, 200}, 5 * degree},
              {2, {450, 170}, -8 * degree},
              {3, {-440, -190}, -3 * degree},
              {4, {445, -215}, 94 * degree}};
  s.tags = {{1, {-60, 395}, 0.1}, {2, {60, -410}, -0.08}};
  s.tools = {{ToolKind::scissors, {110, 450}, 0.15, 5}};
  return s;
}

Scene sides(int width_px) {
  Scene s = planned({"sides", 1, {{0, 0}, 1010, 20, 120, 95}, -0.006, {-8, 4}}, 1002, width_px);
  s.table = table_of(TableTop::worn_wood, 0x6B4A32, -8, 22);
  s.light.azimuth = 0.6;
  const Material cream = covering(Covering::leather, 0xCDBB98, 13);
  s.panels.push_back(lay_panel(panel_design(DesignKind::side_left), {.table_from_panel = placed(0, 155, 3),
                                                                     .thickness = 1.2,
                                                                     .tag = 3,
                                                                     .material = cream,
                                                                     .wear = {.crooked = 1},
                                                                     .chalk = colour_from_srgb(0x31589B),
                                                                     .chalk_width = 1.6,
                                                                     .seed = 103}));
  s.panels.push_back(lay_panel(panel_design(DesignKind::side_right), {.table_from_panel = placed(5, -125, -2),
                                                                      .thickness = 1.2,
                                                                      .tag = 4,
                                                                      .material = cream,
                                                                      .wear = {.crooked = 1},
                                                                      .chalk = colour_from_srgb(0x31589B),
                                                                      .chalk_width = 1.6,
                                                                      .seed = 104}));
  s.sheets = {{1, {-415, 175}, -4 * degree},
              {2, {415, 180}, 7 * degree},
              {3, {-410, -190}, 3 * degree},
              {4, {415, -185}, -6 * degree}};
  s.tags = {{3, {10, 295}, 0.05}, {4, {-20, -265}, -0.1}};
  s.tools = {{ToolKind::chalk_stick, {-60, 18}, 0.3, 6}};
  return s;
}

Scene back_inner(int width_px) {
  Scene s = planned({"back-inner", 6, {{0, 60}, 1150, 14, 70, 86}, 0.008, {10, 7}}, 1003, width_px);
  s.table = table_of(TableTop::cloth, 0x26292E, 12, 23);
  s.light.direct_share = 0.6;
  s.panels.push_back(
      lay_panel(panel_design(DesignKind::back_inner), {.table_from_panel = placed(0, 0, -5),
                                                       .thickness = 1.2,
                                                       .tag = 5,
                                                       .material = covering(Covering::leather, 0xB98A57, 14),
                                                       .wear = {.stretch_right_percent = 1.5, .crooked = 2},
                                                       .loose_threads = 1,
                                                       .chalk = colour_from_srgb(0x2F4E8E),
                                                       .seed = 105}));
  s.sheets = {{5, {-385, 170}, 6 * degree}, {6, {390, -110}, -9 * degree}, {7, {20, 470}, 91 * degree}};
  s.tags = {{5, {-300, -190}, 0.2}};
  s.tools = {{ToolKind::chalk_stick, {330, 160}, 1.2, 7}};
  return s;
}

Scene back_outer(int width_px) {
  Scene s = planned({"back-outer", 8, {{0, 20}, 1120, 9, 100, 93}, -0.003, {-5, -12}}, 1004, width_px);
  s.table = table_of(TableTop::laminate, 0xC9C2B6, 30, 24);
  s.light.azimuth = 2.8;
  s.panels.push_back(
      lay_panel(panel_design(DesignKind::back_outer), {.table_from_panel = placed(0, 0, 3),
                                                       .thickness = 5,
                                                       .tag = 6,
                                                       .material = covering(Covering::woven, 0x5C636B, 15),
                                                       .core = {0.5F, 0.46F, 0.36F},
                                                       .wear = {.stretch_right_percent = 0.7, .crooked = 1.5},
                                                       .frayed = true,
                                                       .loose_threads = 3,
                                                       .seed = 106}));
  s.sheets = {{1, {-385, 195}, -5 * degree},
              {2, {390, 165}, 4 * degree},
              {3, {-390, -205}, 8 * degree},
              {4, {395, -215}, -3 * degree}};
  s.tags = {{6, {0, 360}, 0}};
  s.tools = {{ToolKind::thread_coil, {-30, -365}, 0, 8}};
  return s;
}

Scene bolsters_and_strip(int width_px) {
  Scene s = planned({"bolsters-and-strip", 1, {{0, -10}, 1020, 17, 60, 90}, 0.002, {3, 11}}, 1005, width_px);
  s.table = table_of(TableTop::cement, 0x9C9B97, 0, 25);
  const Material red = covering(Covering::corduroy, 0x8E3B36, 16);
  const auto lay = [&](DesignKind kind, const geometry::Rigid2& place, int tag, std::uint64_t seed) {
    s.panels.push_back(lay_panel(panel_design(kind), {.table_from_panel = place,
                                                      .thickness = 1.2,
                                                      .tag = tag,
                                                      .material = red,
                                                      .wear = {.crooked = 1},
                                                      .seed = seed}));
  };
  lay(DesignKind::bolster_left, placed(-120, 45, 4), 7, 107);
  lay(DesignKind::bolster_right, placed(120, 40, -3), 8, 108);
  lay(DesignKind::piping_strip, placed(0, -265, 91), 9, 109);
  s.sheets = {{8, {-415, 180}, 3 * degree},
              {9, {415, 170}, -5 * degree},
              {10, {-420, -195}, 6 * degree},
              {11, {425, -205}, -2 * degree}};
  s.tags = {{7, {-110, 300}, 0.1}, {8, {110, 295}, -0.1}, {9, {0, -335}, 0.03}};
  s.tools = {{ToolKind::steel_rule, {20, -405}, 0.05, 9}};
  return s;
}

Scene cushion_again(int width_px) {
  Scene s = planned({"cushion-again", 6, {{0, 0}, 1180, 21, 40, 80}, -0.009, {-11, 5}}, 1006, width_px);
  s.table = table_of(TableTop::wood, 0xD8B283, 4, 21);
  s.light.azimuth = 1.2;
  s.light.gradient = {-0.1, 0.1};
  s.panels.push_back(cushion(placed(-10, 0, -11)));
  s.sheets = {{1, {-30, 420}, 86 * degree},
              {2, {400, 150}, 10 * degree},
              {3, {-405, -140}, -7 * degree},
              {4, {60, -420}, 95 * degree}};
  s.tags = {{1, {330, -190}, 0.3}};
  return s;
}

/// A plain good scene that the fault scenes spoil.
Scene fault_base(const std::string& name, int width_px) {
  Scene s = planned({name, 1, {{0, 0}, 1050, 10, 90, 90}, 0.003, {5, 5}}, 1100, width_px);
  s.table = table_of(TableTop::wood, 0xD8B283, 3, 26);
  s.panels.push_back(cushion(placed(0, 0, 2)));
  s.panels.back().tag.reset();
  s.sheets = {{1, {-430, 120}, 4 * degree},
              {2, {430, 140}, -6 * degree},
              {3, {-430, -230}, 93 * degree},
              {4, {430, -220}, 88 * degree}};
  return s;
}

}  // namespace

Scene launch_scene(int photo_index, int width_px) {
  switch (photo_index) {
    case 0:
      return cushion_and_front(width_px);
    case 1:
      return sides(width_px);
    case 2:
      return back_inner(width_px);
    case 3:
      return back_outer(width_px);
    case 4:
      return bolsters_and_strip(width_px);
    case 5:
      return cushion_again(width_px);
    default:
      throw std::logic_error("launch photo " + std::to_string(photo_index) + " of " + std::to_string(launch_photos));
  }
}

Scene flag_scene(std::uint64_t seed, int width_px) {
  Scene s = planned({"flag", 1, {{0, 0}, 950, 12, 75, 97}, 0.002, {4, -6}}, seed, width_px);
  s.table = table_of(TableTop::wood, 0xD8B283, -5, 27);
  s.panels.push_back(lay_panel(panel_design(DesignKind::flag), {.table_from_panel = placed(0, 0, 6),
                                                                .thickness = 1.2,
                                                                .material = covering(Covering::vinyl, 0x34506E, 17),
                                                                .seed = seed}));
  s.sheets = {{1, {-390, 130}, 5 * degree},
              {2, {390, 140}, -8 * degree},
              {3, {-385, -210}, 92 * degree},
              {4, {390, -205}, 87 * degree}};
  return s;
}

Scene worn_scene(int width_px) {
  Scene s = planned({"worn", 1, {{0, 10}, 1050, 14, 80, 92}, 0.003, {5, -7}}, 1009, width_px);
  s.table = table_of(TableTop::wood, 0xD8B283, 3, 33);
  s.panels.push_back(
      lay_panel(panel_design(DesignKind::cushion_top), {.table_from_panel = placed(0, 20, 5),
                                                        .thickness = 1.2,
                                                        .material = covering(Covering::vinyl, 0x2B3A55, 19),
                                                        .wear = {.stretch_right_percent = 2.5},
                                                        .seed = 109}));
  s.sheets = {{1, {-450, 200}, 5 * degree},
              {2, {455, 170}, -8 * degree},
              {3, {-445, -190}, -3 * degree},
              {4, {450, -215}, 94 * degree}};
  return s;
}

Scene fault_scene(FaultScene fault, int width_px) {
  switch (fault) {
    case FaultScene::no_sheets: {
      Scene s = fault_base("no-sheets", width_px);
      s.sheets.clear();
      return s;
    }
    case FaultScene::one_sheet: {
      Scene s = fault_base("one-sheet", width_px);
      s.sheets.resize(1);
      return s;
    }
    case FaultScene::cut_by_frame: {
      Scene s = fault_base("cut-by-frame", width_px);
      s.panels = {cushion(placed(0, -340, 2))};
      s.panels.back().tag.reset();
      s.sheets = {{1, {-430, 120}, 4 * degree}, {2, {430, 140}, -6 * degree}, {3, {-60, 230}, 93 * degree}};
      return s;
    }
    case FaultScene::out_of_focus: {
      Scene s = fault_base("out-of-focus", width_px);
      s.sensor.blur_px = 6.0 * width_px / 4032;
      return s;
    }
    case FaultScene::panel_over_sheet: {
      Scene s = fault_base("panel-over-sheet", width_px);
      s.sheets[0].at = {-300, 120};
      return s;
    }
  }
  throw std::logic_error("unknown fault scene");
}

std::vector<Scene> fault_scenes(int width_px) {
  std::vector<Scene> out;
  for (const FaultScene f : {FaultScene::no_sheets, FaultScene::one_sheet, FaultScene::cut_by_frame,
                             FaultScene::out_of_focus, FaultScene::panel_over_sheet}) {
    out.push_back(fault_scene(f, width_px));
  }
  return out;
}

}  // namespace chalkfold::demo
