// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <limits>
#include <vector>

#include "pipeline/trace/chalk/panel_picture.h"
#include "pipeline/trace/chalk/stroke.h"

namespace chalkfold::trace {

/// standard deviations of the material: a stroke that teaches an ink. 1 in 900 of three normal channels is farther off
inline constexpr double ink_contrast = 4;
/// cosine between departures, 32 degrees; fitted, see inks.cpp
inline constexpr double same_ink = 0.85;
/// fewer may be a thread or two that lie on the panel, and not what it is marked with
inline constexpr std::size_t few_places = 3;

/// A colour that a panel was drawn on with.
struct ChalkInk {
  /// unit departure
  cv::Vec3f direction;
  /// mean over the strokes that taught it; 0 when it was assumed
  double contrast = 0;
  /// far apart, at which it was learned
  std::size_t places = 0;
  /// Learned at enough places to be what the panel is marked with, and to tell how strongly.
  bool sure() const { return places >= few_places; }
};

/// Inks of the strokes at least `ink_contrast` strong, the most drawn first. Strokes of one colour teach two inks when they differ in strength by more
/// than `most_ratio`.
std::vector<ChalkInk> inks_of(const std::vector<Stroke>& strokes,
                              double most_ratio = std::numeric_limits<double>::infinity());

/// White chalk and dark pen, for a panel on which too little stands out to teach a colour.
std::vector<ChalkInk> plain_inks(const PanelPicture& picture);

/// Where nothing strong enough was drawn at enough places to teach an ink, strokes of at least that significance, beyond doubt without one, may.
std::vector<ChalkInk> taught_late(const std::vector<Stroke>& strokes, double least_significance);

}  // namespace chalkfold::trace
