// SPDX-License-Identifier: Apache-2.0
// A dark panel with a pale cut side on a grey table, drawn by brute force all round, seen from one side: what is learnt of wall and lamp, and the edges then.
#include "pipeline/trace/edge/wall.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace chalkfold::trace {
namespace {

const Vec3 panel(0.09, 0.05, 0.04), table(0.33, 0.33, 0.31), core(0.55, 0.52, 0.45);
const TableLight lamp{Vec2(0.47, -0.64), 0.2, 0.55};
constexpr double thickness = 1.2, blur = 0.2;  // mm

Vec2 facing(double degrees) {
  return {std::cos(degrees * std::numbers::pi / 180), std::sin(degrees * std::numbers::pi / 180)};
}

double beyond(double x) { return 0.5 * std::erfc(-x / std::sqrt(2.0)); }

double coded(double light) {
  const double v = light <= 0.0031308 ? 12.92 * light : 1.055 * std::pow(light, 1 / 2.4) - 0.055;
  return std::round(255 * std::clamp(v, 0.0, 1.0)) / 255;
}

double decoded(double code) { return code <= 0.04045 ? code / 12.92 : std::pow((code + 0.055) / 1.055, 2.4); }

/// Light at a distance from the panel's edge, before any camera.
Vec3 light_at(double x, const EdgeModel& m, const Vec3& wall) {
  if (x < 0) return panel;
  if (x < m.wall) return wall;
  const double u = x - m.wall;
  return (1 - m.lamp * beyond((m.shadow_shift - u) / m.shadow_width) -
          0.5 * (1 - m.lamp) * (1 - u / std::hypot(u, m.thickness))) *
         table;
}

/// A stretch that faces along `outward`, its edge at 0, as a camera low in the south west sees it; its model without shadow.
LightWitness stretch(const Vec2& outward, const Vec3& material) {
  LightWitness w;
  w.outward = outward;
  w.model.thickness = thickness;
  w.model.blur = blur;
  w.model.wall = 0.35 * outward.dot(facing(-140));
  EdgeModel truth = w.model;
  set_shadow(truth, lamp, outward);
  const Vec3 wall = light_on_wall(lamp, outward) * material;
  w.profile.first = -4.4;
  constexpr double fine = 0.02;  // mm
  for (int i = 0; i < 43; ++i) {
    Vec3 sum = Vec3::Zero();
    double weights = 0;
    for (int k = -50; k <= 50; ++k) {
      const double weight = std::exp(-0.5 * std::pow(k * fine / blur, 2));
      sum += weight * light_at(w.profile.at(static_cast<std::size_t>(i)) + (k + 0.37) * fine, truth, wall);
      weights += weight;
    }
    const Vec3 seen = (sum / weights).unaryExpr([](double v) { return decoded(coded(v)); });
    w.profile.linear.emplace_back(seen.cast<float>());
  }
  set_tone_weights(w.profile);
  return w;
}

std::vector<LightWitness> all_round(const Vec3& material) {
  std::vector<LightWitness> out;
  for (int degrees = 0; degrees < 360; degrees += 15) out.push_back(stretch(facing(degrees), material));
  return out;
}

std::vector<LightWitness> shaded(std::vector<LightWitness> witnesses) {
  for (LightWitness& w : witnesses) set_shadow(w.model, lamp, w.outward);
  return witnesses;
}

double edge_of(const LightWitness& w, const TableLight& light, const WallColours& walls) {
  EdgeModel model = w.model;
  set_shadow(model, light, w.outward);
  model.wall_colour = walls.facing(w.outward);
  const EdgeFit fit = fit_edge(w.profile, model, -1.2, 1.2);
  EXPECT_TRUE(fit.ok);
  return fit.edge;
}

TEST(LightOnWall, ComesFromTheLampsSideAndFromAllRound) {
  const double away = light_on_wall(lamp, lamp.slant.normalized());
  EXPECT_GT(away, 0);
  EXPECT_LT(away, 1 - lamp.lamp);
  EXPECT_NEAR(light_on_wall(lamp, -lamp.slant.normalized()) - away, lamp.lamp * lamp.slant.norm(), 1e-12);
  EXPECT_NEAR(light_on_wall(lamp, facing(36.3)), away, 0.01);  // the lamp grazes it
}

TEST(LearnWalls, OneMaterialInTheLampsLightAndOutOfIt) {
  const WallColours walls = learn_walls(shaded(all_round(core)), lamp);
  ASSERT_TRUE(walls.known());
  constexpr double share = 0.15;  // of the colour: how well some blurred tenths of a millimetre can tell it
  for (const double degrees : {-170, -110, -60}) {
    const Vec3 truth = light_on_wall(lamp, facing(degrees)) * core;
    EXPECT_LT((*walls.facing(facing(degrees)) - truth).norm(), share * truth.norm()) << degrees;
  }
}

TEST(LearnWalls, PutsTheEdgeWhereTheWallByItselfDoesNot) {
  // A wall in the lamp's light is as bright as the table in its foot's shade.
  const LightWitness w = shaded({stretch(facing(-170), core)}).front();
  constexpr double close = 0.04, astray = 0.1;  // mm: an eighth and a third of the wall's width
  EXPECT_LT(edge_of(w, lamp, {}), -astray);
  EXPECT_NEAR(edge_of(w, lamp, learn_walls(shaded(all_round(core)), lamp)), 0, close);
}

TEST(LearnWalls, SaysNothingOfWallsUnlikeEachOther) {
  std::vector<LightWitness> mixed;
  for (int degrees = 165; degrees <= 255; degrees += 15)
    mixed.push_back(stretch(facing(degrees), degrees % 30 == 0 ? Vec3(0.05, 0.5, 0.05) : Vec3(1.2, 0.1, 1.2)));
  EXPECT_FALSE(learn_walls(shaded(mixed), lamp).known());
  EXPECT_FALSE(learn_walls(shaded({stretch(facing(-140), core)}), lamp).known());
  EXPECT_FALSE(learn_walls(shaded({stretch(facing(40), core), stretch(facing(30), core)}), lamp).known());  // hidden
  EXPECT_FALSE(learn_walls({}, lamp).known());
}

TEST(LearnSurroundings, LampAndWallTogetherPutEveryEdgeInItsPlace) {
  const std::vector<LightWitness> witnesses = all_round(core);
  const Surroundings around = learn_surroundings(witnesses);
  ASSERT_TRUE(around.walls.known());
  const TableLight alone = learn_light(witnesses);
  EXPECT_LT((around.light.slant - lamp.slant).norm(), (alone.slant - lamp.slant).norm());
  constexpr double close = 0.05;  // mm
  for (const LightWitness& w : witnesses)
    EXPECT_NEAR(edge_of(w, around.light, around.walls), 0, close) << w.outward.transpose();
}

}  // namespace
}  // namespace chalkfold::trace
