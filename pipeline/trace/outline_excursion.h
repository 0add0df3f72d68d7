// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/panel.h"
#include "pipeline/trace/stroke_shape.h"

namespace chalkfold {

/// A stretch on which an outline leaves its course and comes back to it: a large notch, a tab.
struct OutlineExcursion {
  double from = 0, to = 0;                                  ///< mm along the outline; `to` may lie beyond its length
  Vec2 mouth_from = Vec2::Zero(), mouth_to = Vec2::Zero();  ///< the outline's points there
};

struct OutlineExcursionOptions {
  double most_mouth =
      14;  ///< mm, chord across: the widest notch, and where the fit rounded its sides' meeting with the edge
  double most_way = 34;       ///< mm along the outline: both sides of the deepest notch
  double least_detour = 1.2;  ///< way over chord: less is a bend, or a bump that the edges' own fit passes over
  double arm = 12;            ///< mm either side, over which the course is read
  double most_bow = 1;        ///< mm of either: a step's corner bows more, an edge of 20 mm radius less
  double most_turn = 0.45;    ///< rad between the courses before and after: a corner's turn is more
  double most_offset = 1.6;   ///< mm of either course from the other at the mouth
};

/// Excursions of a closed outline, in order, none over another. An outline's corner is none: its courses before and after differ in direction.
std::vector<OutlineExcursion> find_excursions(const OutlineRuler& outline, const OutlineExcursionOptions& options = {});

/// The contour straight across the excursions, which are of this contour. Sigma and U of the points left in are kept.
Contour led_across(const Contour& contour, const std::vector<OutlineExcursion>& excursions);

}  // namespace chalkfold
