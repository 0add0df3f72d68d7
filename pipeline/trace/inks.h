// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <vector>

#include "pipeline/trace/stroke_finder.h"

namespace chalkfold {

constexpr double ink_contrast = 4;  ///< standard deviations: a stroke that teaches an ink
constexpr double same_ink = 0.85;   ///< cosine between departures
constexpr std::size_t few_places =
    3;  ///< fewer may be a thread or two that lie on the panel, and not what it is marked with

/// A colour that a panel was drawn on with.
struct Ink {
  cv::Vec3f direction;     ///< unit departure
  double contrast = 0;     ///< mean over the strokes that taught it; 0 when it was assumed
  std::size_t places = 0;  ///< far apart, at which it was learned
  /// Learned at enough places to be what the panel is marked with, and to tell how strongly.
  bool sure() const { return places >= few_places; }
};

/// Inks of the strokes at least `least_contrast` strong, the most drawn first. Strokes of one colour teach two inks when they differ in strength by more
/// than `most_ratio`.
std::vector<Ink> inks_of(const std::vector<Stroke>& strokes, double least_contrast = ink_contrast,
                         double most_ratio = 1e9);

/// White chalk and dark pen, for a panel on which too little stands out to teach a colour.
std::vector<Ink> plain_inks(const PanelPicture& picture);

/// Where nothing strong enough was drawn at enough places to teach an ink, strokes of at least that significance, beyond doubt without one, may.
std::vector<Ink> taught_late(const std::vector<Stroke>& strokes, double least_significance);

}  // namespace chalkfold
