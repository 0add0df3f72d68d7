// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "pipeline/output/drawing/piece_drawing.h"

namespace chalkfold::output {

/// How the copies of a set stand side by side.
struct SetOptions {
  PieceDrawingOptions drawing;
  /// mm between the boxes of two pieces
  double gap = 20;
  /// mm, wider rows are broken; 0: as wide as makes the whole about a third wider than high
  double row_width = 0;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const SetOptions& options);

/// Where one copy of a piece lies in the drawing of the set.
struct SetPlace {
  /// its index
  std::size_t piece = 0;
  /// the copy that is cut as mirror image
  bool mirrored = false;
  /// of the lower left corner of its box
  Vec2 at = Vec2::Zero();
  geometry::Box box;
};

/// Every copy of every piece side by side in rows from below, the highest first, each row's pieces standing on one line;
/// equal ones in the order given. Of a piece that is to be cut with one mirrored, the last copy is. Boxes are `gap` apart,
/// so nothing overlaps; nothing is turned. Not a nesting: that is for others to do with the file.
std::vector<SetPlace> set_places(const std::vector<draft::Piece>& pieces, const SetOptions& options = {});

/// All copies in one drawing, lettered, for an SVG.
Drawing set_drawing(const std::vector<draft::Piece>& pieces, const SetOptions& options = {});

/// SVG of the set at true scale, as piece_svg writes one piece.
std::string set_svg(const std::vector<draft::Piece>& pieces, const SetOptions& options = {});

/// Exchange DXF of the set: one BLOCK a piece (as in piece_dxf) and one INSERT a copy; a mirrored copy has a block of its
/// own, its name ending in "-M", because programs differ in what they make of a negative scale.
std::string set_dxf(const std::vector<draft::Piece>& pieces, const SetOptions& options = {});

}  // namespace chalkfold::output
