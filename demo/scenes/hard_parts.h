// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "demo/scenes/random_parts.h"

namespace chalkfold::demo {

/// What untidy scenes are put together from beside random_parts. All draw from the generator given.

/// One of the set's designs.
PanelDesign random_design(Random& random);

/// A sharp shadow across one of the panels that leaves this share of the light, and a lamp strong enough for it.
void cast_hard_shadow(Random& random, double left, Scene& scene);

/// `count` sheets of which the scene's panels cover the margin and some squares, 3 to 25 % of the paper; false when none fits. Numbers are
/// left 0, see number_sheets.
bool add_covered_sheets(Random& random, int count, Scene& scene);

/// Gives the sheets numbers in a row.
void number_sheets(Random& random, Scene& scene);

/// Share of a sheet's paper, and of its board, that lies under panels.
struct SheetCover {
  double paper = 0, board = 0;
};
SheetCover cover_of(const SheetOnTable& sheet, const std::vector<LaidPanel>& panels);

/// One or two blank sheets of paper 3 to 40 mm from a panel; fewer where they find no place.
void add_papers(Random& random, Scene& scene);

/// Least distance between two outlines, by all their points; 0 when they overlap. Only told up to 20 mm, beyond that as 20.
double close_gap(const Polyline& a, const Polyline& b);

/// Two or three panels 0 to 10 mm apart; false when they find no place.
bool add_close_panels(Random& random, Scene& scene);

/// A design with 1 to 3 slots and an inner corner; nullopt when they find no room in it.
std::optional<PanelDesign> slotted_design(Random& random, const PanelDesign& design);

}  // namespace chalkfold::demo
