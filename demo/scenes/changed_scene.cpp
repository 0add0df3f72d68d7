// SPDX-License-Identifier: Apache-2.0
#include <numbers>

#include "demo/design/lay_panel.h"
#include "demo/scenes/scene_layout.h"
#include "demo/scenes/scenes.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::demo {

namespace {
constexpr double degree = std::numbers::pi / 180;
constexpr double hole_diameter = 3;  // mm

DesignEdge straight(const Vec2& a, const Vec2& b) { return {a, a + (b - a) / 3, b - (b - a) / 3, b}; }

/// A pad with no two sides alike, a grain arrow off its sides' directions, and awl holes 350 mm apart along the grain and 250 mm across.
PanelDesign pad() {
  PanelDesign d{.name = "pad", .symmetric = false};
  d.edges = {straight({-270, -190}, {265, -175}),
             {{265, -175}, {285, -60}, {282, 60}, {240, 185}},
             {{240, 185}, {120, 205}, {-60, 175}, {-170, 195}},
             straight({-170, 195}, {-285, 90}),
             straight({-285, 90}, {-270, -190})};
  const Vec2 along = geometry::unit(pad_grain), across = geometry::left_of(along), corner(-150, -130);
  d.grain = {Vec2(-60 * along - 20 * across), Vec2(80 * along - 20 * across)};
  for (const Vec2& at : {corner, Vec2(corner + 350 * along), Vec2(corner + 250 * across)})
    d.awl_holes.push_back({at, hole_diameter});
  return d;
}

PanelDesign changed(PanelDesign design, const Mat2& map) {
  for (DesignEdge& e : design.edges)
    for (Vec2* p : {&e.from, &e.control1, &e.control2, &e.to}) *p = map * *p;
  for (Vec2& p : *design.grain) p = map * p;
  for (AwlHole& hole : design.awl_holes) hole.at = map * hole.at;
  return design;
}

Material covering(std::uint32_t srgb) {
  return {.covering = Covering::vinyl,
          .colour = colour_from_srgb(srgb),
          .second = colour_from_srgb(srgb),
          .period = 24,
          .seed = 41};
}
}  // namespace

Mat2 PadChange::map() const {
  const Vec2 along = geometry::unit(pad_grain), across = geometry::left_of(along);
  const Vec2 sheared = std::cos(shear_deg * degree) * across + std::sin(shear_deg * degree) * along;
  Mat2 before, after;
  before << along, across;
  after << (1 + along_percent / 100) * along, (1 + across_percent / 100) * sheared;
  return after * before.transpose();
}

Scene changed_scene(bool after, int width_px) {
  Scene s;
  s.name = after ? "pad-after" : "pad-before";
  s.seed = after ? 1012 : 1011;
  const calib::Lens phone = phone_lens(width_px);
  s.focal_35mm = focal_35mm(phone);
  s.camera.lens = for_one_photo(phone, after ? -0.004 : 0.003, after ? Vec2(-6, 5) : Vec2(5, -7));
  s.camera.pose = after ? pose_at({{5, 0}, 1090, 9, 100, 88}) : pose_at({{0, 10}, 1070, 14, 80, 92});
  s.sensor = phone_sensor();
  s.table = {.top = TableTop::wood, .colour = colour_from_srgb(0xD8B283), .turn = 0.05F, .seed = after ? 35U : 34U};
  s.panels.push_back(lay_panel(
      after ? changed(pad(), PadChange{}.map()) : pad(),
      {.table_from_panel = after ? geometry::Rigid2{-8 * degree, {8, -6}} : geometry::Rigid2{3 * degree, {0, 5}},
       .thickness = 1.2,
       .material = covering(0x2B3A55),
       .seed = after ? 112U : 111U}));
  s.sheets = {{1, {-450, 190}, 5 * degree},
              {2, {455, 170}, -8 * degree},
              {3, {-450, -190}, -3 * degree},
              {4, {455, -200}, (after ? 3 : 94) * degree}};
  return s;
}

}  // namespace chalkfold::demo
