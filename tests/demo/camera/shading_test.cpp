// SPDX-License-Identifier: Apache-2.0
#include "demo/camera/shading.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "demo/base/noise.h"
#include "demo/camera/render.h"
#include "demo/design/lay_panel.h"
#include "demo/scenes/scene_layout.h"

namespace chalkfold::demo {
namespace {

constexpr double px_per_mm = 5;

/// A small even grey panel on a white table straight below the camera, lit from the right.
Scene scene_with(LaidPanel panel) {
  Scene s;
  s.camera.lens.width = s.camera.lens.height = 400;
  s.camera.lens.centre_x_px = s.camera.lens.centre_y_px = 199.5;
  constexpr double height = 1000;
  s.camera.lens.focal_px = px_per_mm * height;
  s.camera.pose = pose_at({.aim = {0, 0}, .height = height + 1});
  s.light.azimuth = 0;
  s.table.colour = {0.8F, 0.8F, 0.8F};
  panel.thickness = 1;
  panel.material.colour = {0.2F, 0.2F, 0.2F};
  panel.material.relief = 0;
  panel.outline = panel.seen_outline = {{-35, -35}, {35, -35}, {35, 35}, {-35, 35}};
  s.panels.push_back(std::move(panel));
  return s;
}

/// Light at a point of the panel (mm).
float at(const cv::Mat& light, double x, double y) {
  const auto u = static_cast<int>(std::lround(199.5 + px_per_mm * x)),
             v = static_cast<int>(std::lround(199.5 - px_per_mm * y));
  return light.at<cv::Vec3f>(v, u)[1];
}

constexpr float even = 0.2F, tenth_percent = 2e-4F;

TEST(Shading, ACreaseIsLightTowardsTheLampAndDarkBehind) {
  LaidPanel p;
  p.creases.push_back({{{0, -20}, {0, 20}}, 2, 0.1});
  const cv::Mat light = render_light(scene_with(p));
  // The lamp stands at +x; the line runs up, so its left is -x, away from the lamp.
  EXPECT_NEAR(at(light, 2.1, 0), 1.1F * even, 0.005F);
  EXPECT_NEAR(at(light, -2.1, 0), 0.9F * even, 0.005F);
  EXPECT_NEAR(at(light, 0, 30), even, tenth_percent);
  EXPECT_NEAR(at(light, 9, 0), even, tenth_percent);
}

TEST(Shading, ARodsShadowDarkensItsBandAlone) {
  Scene s = scene_with({});
  s.shadow_across = ShadowAcross{.depth = 0.8, .softness = 1, .bodies = {{{-200, 0}, {200, 0}, 8, 0}}};
  const cv::Mat light = render_light(s);
  const auto left = static_cast<float>(1 - 0.8 * s.light.direct_share);
  EXPECT_NEAR(at(light, 3, 0), left * even, tenth_percent);
  EXPECT_NEAR(at(light, 3, 8), 0.5F * (1 + left) * even, 0.1F * even) << "half way, to half a pixel";
  EXPECT_NEAR(at(light, 3, 9), even, tenth_percent);
  EXPECT_NEAR(at(light, -3, -9), even, tenth_percent);
}

TEST(Shading, BlankPaperIsWhiteAndLiesUnderPanels) {
  Scene s = scene_with({});
  s.thing_shadows = false;
  s.papers = {{{30, 0}, 0, {16, 40}}};
  const cv::Mat light = render_light(s);
  constexpr float paper = 0.845F, unevenness = 0.012F, table = 0.8F;
  EXPECT_NEAR(at(light, 37, 12), paper, unevenness);
  EXPECT_NEAR(at(light, 37, 25), table, tenth_percent) << "beyond its end";
  EXPECT_NEAR(at(light, 30, 0), even, tenth_percent) << "the panel is on top";
}

TEST(Shading, NeedleHolesAreDarkWithALighterRim) {
  LaidPanel p;
  p.needle_rows.push_back({.holes = {{0.1, 0.1}, {10.1, 0.1}}, .hole = 1.6, .rim = 0.2});
  const cv::Mat light = render_light(scene_with(p));
  for (const double x : {0.1, 10.1}) {
    EXPECT_LT(at(light, x, 0.1), 0.4F * even);
    EXPECT_GT(at(light, x + 1.05, 0.1), 1.1F * even) << "the rim";
    EXPECT_NEAR(at(light, x + 2.5, 0.1), even, tenth_percent);
  }
}

TEST(Shading, AnAwlHoleShowsTheTable) {
  const LaidPanel laid = lay_panel({.edges = {{{-35, -35}, {-10, -35}, {10, -35}, {35, -35}},
                                              {{35, -35}, {35, -10}, {35, 10}, {35, 35}},
                                              {{35, 35}, {10, 35}, {-10, 35}, {-35, 35}},
                                              {{-35, 35}, {-35, 10}, {-35, -10}, {-35, -35}}},
                                    .awl_holes = {{{5, 5}, 5}}},
                                   {});
  Scene s = scene_with(laid);
  s.thing_shadows = false;
  const cv::Mat light = render_light(s);
  EXPECT_NEAR(at(light, 5, 5), 0.8F, 0.01F);
  EXPECT_NEAR(at(light, 5, 10), even, tenth_percent);
  ASSERT_EQ(laid.marks.size(), 1U);
  EXPECT_EQ(laid.marks[0].kind, "hole");
  EXPECT_EQ(laid.marks[0].diameter, 5);
}

TEST(Shading, BrokenChalkLeavesClothBareAndAnEvenFilmDoesNot) {
  const auto bare_share = [](float broken) {
    LaidPanel p;
    p.chalk.colours = {{0.85F, 0.85F, 0.85F}};
    p.chalk.strength = 1;
    p.chalk.broken = broken;
    p.chalk.strokes = {{{-25, 0}, {25, 0}, 2, 0}};
    const cv::Mat light = render_light(scene_with(p));
    int bare = 0, all = 0;
    for (double x = -24; x < 24; x += 0.5) {
      for (double y = -1.4; y < 1.5; y += 0.4, ++all) bare += at(light, x, y) < 1.2F * even ? 1 : 0;
    }
    return static_cast<double>(bare) / all;
  };
  EXPECT_GT(bare_share(0.8F), 0.15);
  EXPECT_LT(bare_share(0.05F), 0.08);
  EXPECT_GT(bare_share(0.8F), 2 * bare_share(0.3F));
}

}  // namespace
}  // namespace chalkfold::demo
