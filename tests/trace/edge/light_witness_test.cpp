// SPDX-License-Identifier: Apache-2.0
// What an edge owes to the model of wall and shadow, on profiles made by hand.
#include "pipeline/trace/edge/light_witness.h"

#include <gtest/gtest.h>

#include <cmath>

namespace chalkfold::trace {
namespace {

constexpr double blur = 0.3, wall = 2;  // mm

double beyond(double x) { return 0.5 * std::erfc(-x / (blur * std::sqrt(2.0))); }

/// Panel up to 0 mm, its wall up to `wall`, then table; linear light, with a ripple as of a weave.
PlacedWitness seen(double panel, double side, double table) {
  constexpr double ripple = 0.004;
  PlacedWitness w;
  w.heard.outward = {1, 0};
  w.heard.model.blur = blur;
  w.heard.model.wall = wall;
  w.heard.model.thickness = 3;
  EdgeProfile& p = w.heard.profile;
  p.first = -4.4;
  for (int i = 0; i < 43; ++i) {
    const double x = p.first + p.step * i;
    const double light =
        panel + (side - panel) * beyond(x) + (table - side) * beyond(x - wall) + ripple * std::sin(2.3 * i);
    p.linear.emplace_back(Eigen::Vector3f::Constant(static_cast<float>(light)));
  }
  set_tone_weights(p);
  return w;
}

Correction only(const PlacedWitness& w) { return corrections({w}, {}, {}).front(); }

TEST(Corrections, AWallThatMayBeNoneIsDoubtedByAboutItsWidth) {
  // One step: the panel's limit lies there when no wall shows, a wall's width inside it when the wall is as dark as the panel.
  const double doubt = only(seen(0.05, 0.05, 0.5)).rival;
  EXPECT_GT(2 * doubt, wall);  // U covers both
  EXPECT_LT(doubt, wall);
}

TEST(Corrections, AWallOfItsOwnColourIsNotDoubted) {
  constexpr double clear = 0.05;  // mm: less than the edge model's own sigma adds
  EXPECT_LT(only(seen(0.05, 0.25, 0.6)).rival, clear);
}

TEST(Corrections, NoWallNoDoubt) {
  PlacedWitness w = seen(0.05, 0.05, 0.5);
  w.heard.model.wall = -wall;
  EXPECT_EQ(only(w).rival, 0);
}

}  // namespace
}  // namespace chalkfold::trace
