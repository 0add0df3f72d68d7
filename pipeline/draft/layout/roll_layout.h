// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "pipeline/geometry/polygon.h"

namespace chalkfold::draft {

/// One copy of a piece to be laid on a roll.
struct RollPiece {
  /// its cut line, closed, mm
  Polyline outline;
  /// rad: angles that it may lie at, counter-clockwise from its own frame to the roll's
  std::vector<double> turns;
};

struct RollOptions {
  /// mm, usable
  double width = 1400;
  /// mm between two cut lines: a chalk line of 1 mm around each, so that they need not share one; common practice, no source
  double gap = 2;
  /// mm by which outlines are simplified for the search: half of what a chalk line covers
  double slack = 0.5;
  /// layouts that are tried, 1..4, fewer of more than 16 pieces; the shortest is kept
  int trials = 4;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const RollOptions& options);

/// Where one copy lies. Roll frame: mm, x along the roll from its beginning, y across it from its lower edge.
struct RollPlace {
  /// false: wider than the roll at every turn that it may lie at
  bool placed = false;
  /// rad, one of the piece's turns
  double turn = 0;
  Vec2 shift = Vec2::Zero();
  geometry::Rigid2 roll_from_piece() const { return {turn, shift}; }
};

struct RollLayout {
  /// in the order of the pieces
  std::vector<RollPlace> places;
  /// mm of roll that is used
  double length = 0;
  /// mm2 of the placed pieces
  double piece_area = 0;
  /// mm2, length x usable width
  double roll_area = 0;
  double share() const { return roll_area > 0 ? piece_area / roll_area : 0; }
};

/// Lays all pieces on a roll and keeps the shortest of a few layouts: pieces row by row, and the library's (nested_places.h) in a few
/// orders. A layout is kept only when our own check finds that no two pieces overlap or come closer than the gap, that none lies
/// beside the roll, and that each lies at a turn that it may have; pieces that the library did not place come after the others, row
/// by row, and so do, of more than 40, the smallest. Row by row always passes. A good layout, not the best one. Deterministic; the order of equal pieces is kept.
/// Precondition: outlines of three points or more, each with a turn.
RollLayout roll_layout(const std::vector<RollPiece>& pieces, const RollOptions& options = {});

/// What is wrong with a layout, in plain words; empty when nothing is. The check that roll_layout makes.
/// Precondition: the layout has a place for each piece.
std::vector<std::string> layout_faults(const std::vector<RollPiece>& pieces, const RollLayout& layout,
                                       const RollOptions& options);

/// An outline where it lies on the roll.
Polyline outline_on_roll(const RollPiece& piece, const RollPlace& place);

}  // namespace chalkfold::draft
