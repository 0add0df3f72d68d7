// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/panel/panel.h"

namespace chalkfold::trace {

/// A stretch on which an outline leaves its course and comes back to it: a large notch, a tab.
struct OutlineExcursion {
  /// mm along the outline; `to` may lie beyond its length
  double from = 0, to = 0;
  /// the outline's points there
  Vec2 mouth_from = Vec2::Zero(), mouth_to = Vec2::Zero();
};

/// Excursions of a closed outline, in order, none over another. An outline's corner is none: its courses before and after differ in direction.
std::vector<OutlineExcursion> find_excursions(const geometry::ClosedOutline& outline);

/// The contour straight across the excursions, which are of this contour. Sigma and U of the points left in are kept.
panel::Contour led_across(const panel::Contour& contour, const std::vector<OutlineExcursion>& excursions);

}  // namespace chalkfold::trace
