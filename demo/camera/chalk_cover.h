// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>

#include "demo/base/material.h"

namespace chalkfold::demo {

/// Share of the cloth that a chalk stroke covers at a point (mm), 0 to 1, averaged over a footprint (mm): chalk catches
/// on what stands up and leaves the hollows bare, more so the more `broken` (0 to 1) it is, and the hand's pressure
/// comes and goes over a centimetre or two. `relief`: how far the cloth stands up here, about -1 to 1.
float chalk_cover(float x, float y, float footprint, float broken, float relief, std::uint32_t seed);

/// Mean of chalk_cover over a flat cloth.
float mean_chalk_cover(float broken);

/// How far the cloth stands up where it has this colour: threads and grain are lighter on top. 0 for checks and stripes,
/// whose colours say nothing about height.
float relief_of(const Colour& cloth, const Material& material);

/// Chalk of a given colour that makes a given step on a material.
struct ChalkTone {
  /// of Chalk
  float strength = 0;
  /// reached: less than asked for when the chalk cannot be that far from the cloth
  double contrast = 0;
};

/// Contrast: the chalk's step in luminance over unevenness(material), both averages over `contrast_over_mm` (a common
/// chalk line's width); the step is the mean over a stroke at least that wide.
inline constexpr double contrast_over_mm = 2;
ChalkTone chalk_tone(const Material& material, const Colour& chalk, float broken, double contrast);

}  // namespace chalkfold::demo
