// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/cuts/edge_strip.h"

namespace chalkfold::trace {

/// A straight cut into the edge, closed again: a thin line, darker or lighter than the panel. mm in the strip.
struct SlitSeen {
  /// along the base, at the edge
  double mouth = 0;
  /// along the base, at its end
  double tip = 0;
  double depth = 0;
  /// in standard deviations of the same measurement along the edge
  double contrast = 0;
};

/// Slits of `least` to `most` depth: places where the colour just inside the edge differs, over less than slit_width, from that on both sides by
/// far more than anywhere else along the edge, followed inward until it ends. Longer lines are chalk. The strip must reach deeper than `most`.
std::vector<SlitSeen> slits_in(const EdgeStrip& strip, double least, double most);

}  // namespace chalkfold::trace
