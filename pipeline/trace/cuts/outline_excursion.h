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

struct OutlineExcursionOptions {
  /// mm, chord across: the widest notch, and where the fit rounded its sides' meeting with the edge
  double most_mouth = 14;
  /// mm along the outline: both sides of the deepest notch
  double most_way = 34;
  /// way over chord: less is a bend, or a bump that the edges' own fit passes over
  double least_detour = 1.2;
  /// mm either side, over which the course is read
  double arm = 12;
  /// mm of either: a step's corner bows more, an edge of 20 mm radius less
  double most_bow = 1;
  /// rad between the courses before and after: a corner's turn is more
  double most_turn = 0.45;
  /// mm of either course from the other at the mouth
  double most_offset = 1.6;
};

/// Excursions of a closed outline, in order, none over another. An outline's corner is none: its courses before and after differ in direction.
std::vector<OutlineExcursion> find_excursions(const geometry::ClosedOutline& outline,
                                              const OutlineExcursionOptions& options = {});

/// The contour straight across the excursions, which are of this contour. Sigma and U of the points left in are kept.
panel::Contour led_across(const panel::Contour& contour, const std::vector<OutlineExcursion>& excursions);

}  // namespace chalkfold::trace
