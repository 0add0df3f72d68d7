// SPDX-License-Identifier: Apache-2.0
// Edges drawn by brute force (fine samples, numerical blur, sRGB codes) and found again.
#include "pipeline/trace/edge/edge_profile.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "pipeline/trace/edge/light.h"

namespace chalkfold::trace {
namespace {

/// Light across an edge as it lies on the table, before any camera: colours in linear light, distances in mm.
struct Scene {
  double edge = 0.13;
  Eigen::Vector3d panel{0.05, 0.04, 0.04}, wall{0.04, 0.03, 0.03}, table{0.45, 0.38, 0.30};
  EdgeModel model;
};

double normal_share(double x) { return 0.5 * std::erfc(-x / std::sqrt(2.0)); }

Eigen::Vector3d light_at(const Scene& s, double x) {
  const EdgeModel& m = s.model;
  const double beyond = x - s.edge;
  if (beyond < 0) return s.panel;
  if (beyond < m.wall) return s.wall;
  // A hidden foot (negative wall) hides the darkest of the shadow too.
  const double u = beyond - m.wall;
  double lit = 1;
  if (m.lamp > 0) {
    lit -= m.lamp * normal_share((m.shadow_shift - u) / m.shadow_width);
    lit -= 0.5 * (1 - m.lamp) * (1 - u / std::hypot(u, m.thickness));
  }
  return lit * s.table;
}

double coded(double light) {
  const double v = light <= 0.0031308 ? 12.92 * light : 1.055 * std::pow(light, 1 / 2.4) - 0.055;
  return std::round(255 * std::clamp(v, 0.0, 1.0)) / 255;
}

double decoded(double code) { return code <= 0.04045 ? code / 12.92 : std::pow((code + 0.055) / 1.055, 2.4); }

/// The profile that a camera of this blur would hand over, in whole sRGB codes unless told otherwise.
EdgeProfile photographed(const Scene& scene, bool whole_codes = true) {
  constexpr double fine = 0.01, reach_sigmas = 5;  // mm, sigmas
  EdgeProfile p;
  p.first = -3;
  p.step = 0.2;
  for (int i = 0; i <= 35; ++i) {
    Eigen::Vector3d sum = Eigen::Vector3d::Zero();
    double weights = 0;
    const int half = static_cast<int>(std::ceil(reach_sigmas * scene.model.blur / fine));
    for (int k = -half; k <= half; ++k) {
      const double off = k * fine, w = std::exp(-0.5 * off * off / (scene.model.blur * scene.model.blur));
      sum += w * light_at(scene, p.at(static_cast<std::size_t>(i)) + off + 0.37 * fine);
      weights += w;
    }
    Eigen::Vector3f v;
    for (int c = 0; c < 3; ++c)
      v[c] = static_cast<float>(whole_codes ? decoded(coded(sum[c] / weights)) : sum[c] / weights);
    p.linear.push_back(v);
  }
  set_tone_weights(p);
  return p;
}

// mm. Sampling the scene every hundredth moves an edge by less; whole codes and the tabled blur by some hundredths.
constexpr double plain_edge = 0.02, shaded_edge = 0.05;

void expect_edge(const Scene& scene, double tolerance) {
  const EdgeFit fit = fit_edge(photographed(scene), scene.model, -1.2, 1.2);
  ASSERT_TRUE(fit.ok);
  EXPECT_NEAR(fit.edge, scene.edge, tolerance);
  EXPECT_GT(fit.contrast, 0);
}

TEST(FitEdge, FindsADarkPanelOnALightTable) {
  for (const double blur : {0.2, 0.3, 0.5}) {
    for (const double edge : {-0.52, 0.0, 0.13, 0.7}) {
      Scene scene;
      scene.edge = edge;
      scene.model.blur = blur;
      SCOPED_TRACE(fmt::format("blur {} edge {}", blur, edge));
      expect_edge(scene, plain_edge);
    }
  }
}

TEST(FitEdge, FindsALightPanelOnADarkTable) {
  Scene scene;
  std::swap(scene.panel, scene.table);
  expect_edge(scene, plain_edge);
}

TEST(FitEdge, FindsAnEdgeOfColourWhereBrightnessIsNearlyEven) {
  Scene scene;
  scene.panel = {0.04, 0.05, 0.20};
  scene.table = {0.28, 0.28, 0.28};
  expect_edge(scene, plain_edge);
}

// A gradient peak in coded values lies towards the dark side; the fit in light does not.
TEST(FitEdge, IsFreeOfTheToneCurvesBias) {
  Scene scene;
  const EdgeFit codes = fit_edge(photographed(scene, true), scene.model, -1.2, 1.2);
  const EdgeFit light = fit_edge(photographed(scene, false), scene.model, -1.2, 1.2);
  EXPECT_NEAR(codes.edge, light.edge, plain_edge);
  EXPECT_NEAR(light.edge, scene.edge, 0.01);  // no codes, no shadow: only the table of the blur is left
}

TEST(FitEdge, IsNotPulledByAContactShadow) {
  for (const double shift : {-0.8, 0.0, 0.8}) {  // lit side, along the light, shaded side
    for (const bool dark_panel : {true, false}) {
      Scene scene;
      if (!dark_panel) scene.panel = {0.55, 0.5, 0.42};
      scene.model.lamp = 0.6;
      scene.model.shadow_shift = shift;
      scene.model.shadow_width = 0.5;
      scene.model.thickness = 1.2;
      SCOPED_TRACE(fmt::format("shift {} dark {}", shift, dark_panel));
      expect_edge(scene, shaded_edge);
    }
  }
}

// The same profile read as if there were no lamp is off by much more: the shadow in these scenes does pull.
TEST(FitEdge, IsPulledWhereTheShadowIsNotModelled) {
  Scene scene;
  scene.model.lamp = 0.5;
  scene.model.thickness = 1.2;
  scene.model.shadow_shift = 1.08;
  scene.model.shadow_width = 0.36;
  const EdgeProfile seen = photographed(scene);
  EdgeModel bare = scene.model;
  bare.lamp = 0;
  EXPECT_NEAR(fit_edge(seen, scene.model, -1.2, 1.2).edge, scene.edge, shaded_edge);
  EXPECT_GT(std::abs(fit_edge(seen, bare, -1.2, 1.2).edge - scene.edge), 2 * shaded_edge);
}

TEST(FitEdge, TakesThePanelsOwnLimitNotTheWallsFoot) {
  for (const double wall : {0.8, 1.5, -0.6}) {  // in view, and hidden behind the upper edge
    Scene scene;
    scene.panel = {0.30, 0.29, 0.28};
    scene.wall = {0.16, 0.15, 0.14};
    scene.table = {0.5, 0.4, 0.3};
    scene.model.wall = wall;
    scene.model.thickness = 5;
    scene.model.lamp = 0.5;
    scene.model.shadow_width = 1.5;
    scene.model.shadow_shift = 1.0;
    SCOPED_TRACE(wall);
    expect_edge(scene, shaded_edge);
  }
}

TEST(FitEdge, FailsWhereThereIsNoEdge) {
  Scene scene;
  scene.panel = scene.table;
  scene.edge = 0;
  EdgeProfile flat = photographed(scene);
  const EdgeFit fit = fit_edge(flat, scene.model, -1.2, 1.2);
  EXPECT_TRUE(!fit.ok || fit.contrast < 0.05) << fit.edge << " contrast " << fit.contrast;
  Scene beyond;
  beyond.edge = 2.5;  // outside the search
  EXPECT_FALSE(fit_edge(photographed(beyond), beyond.model, -1.2, 1.2).ok);
  EXPECT_FALSE(fit_edge({}, {}, -1, 1).ok);
  flat.weight.clear();
  EXPECT_THROW(fit_edge(flat, {}, -1, 1), std::logic_error);
}

TEST(SetShadow, FallsAwayFromTheLamp) {
  EdgeModel model;
  model.thickness = 2;
  set_shadow(model, {Vec2(0.5, 0), 0.4, 0.7}, Vec2(1, 0));
  EXPECT_DOUBLE_EQ(model.shadow_shift, 1.0);
  EXPECT_DOUBLE_EQ(model.shadow_width, 0.8);
  EXPECT_DOUBLE_EQ(model.lamp, 0.7);
  set_shadow(model, {Vec2(0.5, 0), 0.4, 0.7}, Vec2(-1, 0));
  EXPECT_DOUBLE_EQ(model.shadow_shift, -1.0);
}

/// Sixteen stretches all round a dark panel under one light.
std::vector<LightWitness> witnesses_under(const TableLight& light) {
  std::vector<LightWitness> witnesses;
  for (int i = 0; i < 16; ++i) {
    Scene scene;
    scene.edge = 0.05 * (i % 3 - 1);
    scene.model.thickness = 1.2;
    const Vec2 outward(std::cos(i * M_PI / 8), std::sin(i * M_PI / 8));
    const EdgeModel bare = scene.model;
    set_shadow(scene.model, light, outward);
    witnesses.push_back({photographed(scene), outward, bare});
  }
  return witnesses;
}

TEST(LearnLight, FindsWhereTheLampIs) {
  const TableLight truth{Vec2(0.7, -0.3), 0.4, 0.6};
  const auto witnesses = witnesses_under(truth);
  const TableLight found = learn_light(witnesses);
  ASSERT_GT(found.lamp, 0);
  const double turn_deg = std::acos(found.slant.normalized().dot(truth.slant.normalized())) * 180 / M_PI;
  EXPECT_LT(turn_deg, 15);
  // What counts is the edges under the light that was found.
  for (std::size_t i = 0; i < witnesses.size(); ++i) {
    EdgeModel model = witnesses[i].model;
    set_shadow(model, found, witnesses[i].outward);
    const EdgeFit fit = fit_edge(witnesses[i].profile, model, -1.2, 1.2);
    ASSERT_TRUE(fit.ok);
    EXPECT_NEAR(fit.edge, 0.05 * (static_cast<int>(i) % 3 - 1), 2 * shaded_edge) << i;
  }
}

TEST(LearnLight, SeesNoLampWhereThereIsNoShadow) {
  EXPECT_EQ(learn_light({}).lamp, 0);
  EXPECT_EQ(learn_light(witnesses_under({Vec2(0, 0), 0.5, 0})).lamp, 0);
}

}  // namespace
}  // namespace chalkfold::trace
