// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/edge_strip.h"

namespace chalkfold {

/// A straight cut into the edge, closed again: a thin line, darker or lighter than the panel. mm in the strip.
struct SlitSeen {
  double mouth = 0;  ///< along the base, at the edge
  double tip = 0;    ///< along the base, at its end
  double depth = 0;
  double contrast = 0;  ///< in standard deviations of the same measurement along the edge
};

/// Slits of `least` to `most` depth: places where the colour just inside the edge differs, over less than slit_width, from that on both sides by
/// far more than anywhere else along the edge, followed inward until it ends. Longer lines are chalk. The strip must reach deeper than `most`.
std::vector<SlitSeen> slits_in(const EdgeStrip& strip, double least, double most);

}  // namespace chalkfold
