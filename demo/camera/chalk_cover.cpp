// SPDX-License-Identifier: Apache-2.0
#include "demo/camera/chalk_cover.h"

#include <algorithm>
#include <cmath>

#include "demo/base/noise.h"

namespace chalkfold::demo {

float chalk_cover(float x, float y, float footprint, float broken, float relief, std::uint32_t seed) {
  constexpr float grain_mm = 0.55F, clump_mm = 1.3F, press_mm = 13;
  const float grain = kept(2 * grain_mm, footprint) * value_noise(x / grain_mm, y / grain_mm, seed) +
                      0.7F * kept(2 * clump_mm, footprint) * value_noise(x / clump_mm, y / clump_mm, seed + 1);
  const float press = broken * value_noise(x / press_mm, y / press_mm, seed + 2);
  const float stands = grain + 0.8F * press + 0.6F * relief + 0.6F - 0.55F * broken;
  const float soft = 0.30F + 0.5F * footprint;  // a pixel that sees several grains sees their mean
  const float t = std::clamp(0.5F + 0.5F * stands / soft, 0.0F, 1.0F);
  return t * t * (3 - 2 * t);
}

float mean_chalk_cover(float broken) {
  constexpr int side = 128;
  constexpr float stride = 1.37F, footprint = 0.3F;
  double sum = 0;
  for (int row = 0; row < side; ++row) {
    for (int column = 0; column < side; ++column) {
      sum +=
          chalk_cover(static_cast<float>(column) * stride, static_cast<float>(row) * stride, footprint, broken, 0, 1U);
    }
  }
  return static_cast<float>(sum / (side * side));
}

float relief_of(const Colour& cloth, const Material& material) {
  if (patterned(material.covering)) return 0;
  constexpr float tone_of_top = 0.12F;  // share by which the tops are lighter than the mean
  return std::clamp((luminance(cloth) / luminance(material.colour) - 1) / tone_of_top, -1.0F, 1.0F);
}

ChalkTone chalk_tone(const Material& material, const Colour& chalk, float broken, double contrast) {
  const double own = unevenness(material, contrast_over_mm);
  const double full = mean_chalk_cover(broken) * std::abs(luminance(chalk) - luminance(mean_reflectance(material)));
  const double strength = std::min(1.0, contrast * own / full);
  return {static_cast<float>(strength), strength * full / own};
}

}  // namespace chalkfold::demo
