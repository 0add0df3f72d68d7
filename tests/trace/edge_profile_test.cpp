// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge_profile.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>

namespace chalkfold {
namespace {

using Colour = Eigen::Vector3d;
using Scene = std::function<Colour(double)>;  // light at x mm outward of the true edge

double srgb(double light) { return light <= 0.0031308 ? 12.92 * light : 1.055 * std::pow(light, 1 / 2.4) - 0.055; }
double light_of(double code) { return code <= 0.04045 ? code / 12.92 : std::pow((code + 0.055) / 1.055, 2.4); }

/// Blurs a scene by summing it over a fine grid (nothing shared with the code under test) and rounds it to 8-bit sRGB codes.
EdgeProfile photograph(const Scene& scene, double edge, double blur) {
  EdgeProfile p;
  p.first = -3;
  p.step = 0.2;
  for (int i = 0; i <= 35; ++i) {
    const double x = p.at(static_cast<std::size_t>(i));
    Colour sum = Colour::Zero();
    double weight = 0;
    for (double u = -5 * blur; u <= 5 * blur; u += 0.005) {
      const double w = std::exp(-0.5 * u * u / (blur * blur));
      sum += w * scene(x - u - edge);
      weight += w;
    }
    Eigen::Vector3f seen;
    for (int c = 0; c < 3; ++c) seen[c] = static_cast<float>(light_of(std::round(255 * srgb(sum[c] / weight)) / 255));
    p.linear.push_back(seen);
  }
  set_tone_weights(p);
  return p;
}

const Colour dark(0.03, 0.032, 0.035), pale(0.55, 0.40, 0.25), red(0.04, 0.05, 0.20), grey(0.28, 0.28, 0.28);

Scene step(const Colour& panel, const Colour& table) {
  return [=](double x) { return x < 0 ? panel : table; };
}

constexpr double rounding_mm = 0.01;  // 8-bit codes
constexpr double shade_mm = 0.03;     // shade taken as linear over a blur width

TEST(FitEdge, IsUnbiasedForDarkOnLightAndLightOnDark) {
  EdgeModel model;
  model.blur = 0.28;
  for (double edge : {-0.63, -0.1, 0.0, 0.37, 0.8}) {
    for (const auto& [panel, table] : {std::pair(dark, pale), std::pair(pale, dark), std::pair(red, grey)}) {
      const EdgeFit fit = fit_edge(photograph(step(panel, table), edge, model.blur), model, -1.2, 1.2);
      ASSERT_TRUE(fit.ok);
      EXPECT_NEAR(fit.edge, edge, rounding_mm);
    }
  }
}

TEST(FitEdge, AKnownLampsShadowDoesNotMoveTheEdge) {
  EdgeModel model;
  model.blur = 0.28;
  model.thickness = 1.2;
  model.wall = -0.1;
  TableLight light;
  light.slant = Vec2(0.9, 0);
  light.spread = 0.3;
  light.lamp = 0.5;
  set_shadow(model, light, Vec2(1, 0));
  EXPECT_NEAR(model.shadow_shift, 1.08, 1e-12);
  const auto lit = [&](double u) {
    const double cast = 0.5 * std::erfc(-(1.08 - u) / 0.36 / std::sqrt(2.0)), sky = 1 - u / std::hypot(u, 1.2);
    return 1 - 0.5 * cast - 0.25 * sky;
  };
  const Scene scene = [&](double x) -> Colour { return x < 0 ? dark : Colour(pale * lit(x + 0.1)); };
  const EdgeProfile seen = photograph(scene, 0.2, model.blur);
  const EdgeFit fit = fit_edge(seen, model, -1.2, 1.2);
  ASSERT_TRUE(fit.ok);
  EXPECT_NEAR(fit.edge, 0.2, shade_mm);
  // The same profile read without the shadow is off by much more: the test can fail.
  EdgeModel bare = model;
  bare.lamp = 0;
  const EdgeFit plain = fit_edge(seen, bare, -1.2, 1.2);
  EXPECT_GT(std::abs(plain.edge - 0.2), 2 * shade_mm);
}

TEST(FitEdge, ASideWallInViewIsNotPanel) {
  EdgeModel model;
  model.blur = 0.28;
  model.thickness = 5;
  model.wall = 1.4;
  const Colour foam(0.15, 0.15, 0.14);
  const Scene scene = [&](double x) -> Colour { return x < 0 ? pale : x < 1.4 ? foam : dark; };
  const EdgeFit fit = fit_edge(photograph(scene, -0.25, model.blur), model, -1.2, 1.2);
  ASSERT_TRUE(fit.ok);
  EXPECT_NEAR(fit.edge, -0.25, 0.05);  // mm: the wall's colour is pulled a tenth towards the panel's
}

TEST(FitEdge, NoEdgeIsNotInvented) {
  EdgeModel model;
  EXPECT_FALSE(fit_edge(photograph([](double) { return grey; }, 0, 0.28), model, -1.2, 1.2).ok && fit_edge(photograph([](double) { return grey; }, 0, 0.28), model, -1.2, 1.2).contrast > 0.05);
}

TEST(FitEdge, AProfileWithoutWeightsIsABrokenPromise) {
  EdgeProfile p = photograph(step(dark, pale), 0, 0.28);
  p.weight.clear();
  EXPECT_THROW(fit_edge(p, EdgeModel{}, -1, 1), std::logic_error);
}

}  // namespace
}  // namespace chalkfold
