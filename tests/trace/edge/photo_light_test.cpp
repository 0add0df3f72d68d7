// SPDX-License-Identifier: Apache-2.0
// Dark panels on a pale table, their edges drawn all round under a known lamp.
#include "pipeline/trace/edge/photo_light.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace chalkfold::trace {
namespace {

constexpr double thickness = 3, blur = 0.25;  // mm
const Vec3 face(0.09, 0.07, 0.06), table(0.45, 0.44, 0.42);
const TableLight lamp{Vec2(0.5, -0.6), 0.25, 0.6};

double beyond(double x) { return 0.5 * std::erfc(-x / std::sqrt(2.0)); }

LightWitness stretch(const Vec2& outward, const TableLight& light) {
  LightWitness w;
  w.outward = outward;
  w.model.thickness = thickness;
  w.model.blur = blur;
  EdgeModel truth = w.model;
  set_shadow(truth, light, outward);
  w.profile.first = -4.4;
  for (int i = 0; i < 43; ++i) {
    const double x = w.profile.at(static_cast<std::size_t>(i)), u = std::max(0.0, x);
    const double lit = 1 - truth.lamp * beyond((truth.shadow_shift - u) / truth.shadow_width) -
                       0.5 * (1 - truth.lamp) * (1 - u / std::hypot(u, thickness));
    const double out = beyond(x / blur);
    w.profile.linear.emplace_back(((1 - out) * face + out * lit * table).cast<float>());
  }
  set_tone_weights(w.profile);
  return w;
}

/// A panel under `light` of which `learnt` was learnt.
HeardLight heard(const TableLight& light, const TableLight& learnt) {
  HeardLight out;
  out.light = learnt;
  for (int i = 0; i < 16; ++i) {
    const double turn = 2 * std::numbers::pi * i / 16;
    out.witnesses.push_back(stretch(Vec2(std::cos(turn), std::sin(turn)), light));
  }
  return out;
}

TEST(LightCost, IsLeastUnderTheTrueLampAndOneWithoutAny) {
  const HeardLight panel = heard(lamp, lamp);
  const TableLight other{Vec2(-0.5, 0.6), 0.25, 0.6};
  EXPECT_EQ(light_cost(panel.witnesses, {}), 1);
  EXPECT_LT(light_cost(panel.witnesses, lamp), 0.8)
      << "half of the sides lie in the lamp's light and cost what they did";
  EXPECT_GT(light_cost(panel.witnesses, other), 1);
}

TEST(AgreedLights, ThePanelWhoseLightWentWrongGetsThatOfTheOthers) {
  const TableLight wrong{Vec2(0.05, 0.1), 0.3, 0.65};
  const auto agreed = agreed_lights({heard(lamp, lamp), heard(lamp, wrong), heard(lamp, {}), heard(lamp, lamp)});
  ASSERT_EQ(agreed.size(), 4u);
  EXPECT_FALSE(agreed[0]);
  ASSERT_TRUE(agreed[1]);
  EXPECT_EQ(agreed[1]->slant, lamp.slant);
  EXPECT_TRUE(agreed[2]) << "it had seen no lamp at all";
  EXPECT_FALSE(agreed[3]);
}

TEST(AgreedLights, ShadowsThatFallBothWaysStay) {
  const TableLight across{Vec2(-0.5, 0.6), 0.25, 0.6};
  for (const auto& light : agreed_lights({heard(lamp, lamp), heard(across, across)})) EXPECT_FALSE(light);
}

TEST(AgreedLights, NothingIsSaidOfOnePanelOrOfLightsThatAgree) {
  EXPECT_TRUE(agreed_lights({}).empty());
  EXPECT_FALSE(agreed_lights({heard(lamp, {})})[0]);
  TableLight near_it = lamp;
  near_it.slant += Vec2(0.1, 0);
  for (const auto& light : agreed_lights({heard(lamp, lamp), heard(lamp, near_it)})) EXPECT_FALSE(light);
  for (const auto& light : agreed_lights({heard({}, {}), heard({}, {})})) EXPECT_FALSE(light);
}

}  // namespace
}  // namespace chalkfold::trace
