// SPDX-License-Identifier: Apache-2.0
#include "demo/camera/chalk_cover.h"

#include <gtest/gtest.h>

#include <cmath>

#include "demo/scenes/mark_materials.h"

namespace chalkfold::demo {
namespace {

/// Luminance of cloth under chalk at a point, as the renderer lays it on.
double chalked(const Material& m, const Colour& chalk, float strength, float broken, float x, float y) {
  constexpr float footprint = 0.4F;  // mm, a phone's pixel at a metre
  const Colour cloth = reflectance(m, x, y, footprint);
  const float share = strength * chalk_cover(x, y, footprint, broken, relief_of(cloth, m), m.seed + 71);
  return luminance(blend(cloth, chalk, share));
}

/// Chalk's mean step over the material's own unevenness, from samples all over a large patch of chalk.
double contrast_reached(const Material& m, const Colour& chalk, float strength, float broken) {
  double step = 0;
  int count = 0;
  for (float y = 0; y < 250; y += 1.7F) {
    for (float x = 0; x < 250; x += 1.7F, ++count)
      step += chalked(m, chalk, strength, broken, x, y) - luminance(reflectance(m, x, y, 0.4F));
  }
  return std::abs(step / count) / unevenness(m, contrast_over_mm);
}

TEST(ChalkCover, CoversLessTheMoreBrokenItIs) {
  EXPECT_GT(mean_chalk_cover(0.2F), mean_chalk_cover(0.5F) + 0.03F);
  EXPECT_GT(mean_chalk_cover(0.5F), mean_chalk_cover(0.9F) + 0.03F);
  EXPECT_LT(mean_chalk_cover(0.2F), 1);
  EXPECT_GT(mean_chalk_cover(0.9F), 0.2F);
}

TEST(ChalkCover, LeavesGapsAndCatchesOnWhatStandsUp) {
  int bare = 0, full = 0, all = 0;
  double high = 0, low = 0;
  for (float y = 0; y < 60; y += 0.7F) {
    for (float x = 0; x < 60; x += 0.7F, ++all) {
      const float cover = chalk_cover(x, y, 0.3F, 0.7F, 0, 5);
      bare += cover < 0.05F ? 1 : 0;
      full += cover > 0.95F ? 1 : 0;
      high += chalk_cover(x, y, 0.3F, 0.7F, 1, 5);
      low += chalk_cover(x, y, 0.3F, 0.7F, -1, 5);
    }
  }
  EXPECT_GT(bare, all / 10);
  EXPECT_GT(full, all / 10);
  EXPECT_GT(high, 1.3 * low);
}

TEST(ChalkTone, GivesTheContrastAskedForOnEveryMaterial) {
  // The tone is set for flat cloth; relief moves the mean cover, and a patch's mean is known to its grain only.
  constexpr double relief_share = 0.15;
  constexpr float broken = 0.5F;
  for (const char* name : mark_materials) {
    const Material m = mark_material(name, 3);
    const Colour chalk = chalk_for(m, 3);
    const ChalkTone tone = chalk_tone(m, chalk, broken, 3);
    EXPECT_NEAR(contrast_reached(m, chalk, tone.strength, broken), tone.contrast, relief_share * tone.contrast) << name;
    EXPECT_LE(tone.contrast, 3 + 1e-9) << name;
  }
}

TEST(ChalkTone, SaysSoWhenTheChalkCannotReachTheContrast) {
  const Material m = mark_material("striped-wide", 3);
  const ChalkTone tone = chalk_tone(m, chalk_for(m, 3), 0.5F, 1000);
  EXPECT_EQ(tone.strength, 1);
  EXPECT_LT(tone.contrast, 1000);
  EXPECT_GT(tone.contrast, 2);
}

}  // namespace
}  // namespace chalkfold::demo
