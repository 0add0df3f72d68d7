// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/polygon.h"

namespace chalkfold {

/// How one closed outline lies on another.
struct OutlineMatch {
  Rigid2 target_from_source;
  double rms = 0;  ///< mm, of the source's points from the target's line, each weighed as the fit weighs it
};

/// Rigid motions (never a reflection) that lay `source` on `target`, both closed, counter-clockwise and about equally long: least rms first,
/// at most `most`, each a minimum of its own - a rectangle has two. Starts by pairing equal shares of the way round from every
/// starting point, then point to line with Tukey's biweight (Y. Chen and G. Medioni, "Object modelling by registration of multiple range
/// images", 1992; robust weights as in P. Holland and R. Welsch, 1977). Precondition: at least 8 points each.
std::vector<OutlineMatch> lay_outline_on(const Polyline& source, const Polyline& target, std::size_t most = 4);

}  // namespace chalkfold
