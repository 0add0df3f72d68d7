// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "pipeline/draft/piece/piece.h"
#include "pipeline/panel/panel.h"

namespace chalkfold::draft {

/// A mark whose middle can be found again: a drill hole, or a small upright piece of writing (a chalked cross or dot) by the middle of
/// its box.
struct BenchMark {
  enum class Kind { hole, cross };
  Kind kind = Kind::hole;
  Vec2 at = Vec2::Zero();
  /// mm, in each direction
  double sigma = 0;
};

/// An outline that is compared with another, whatever file it came from. mm, y up, counter-clockwise, in the frame of its file.
struct ComparedShape {
  std::string name;
  /// in words: "measured panel", "cut line of a piece", "DXF outline"
  std::string kind;
  /// no two points more than a millimetre apart; sigma and U are 0 for a drawn one
  panel::Contour outline;
  bool grain_directed = true;
  /// tail, head
  std::optional<std::array<Vec2, 2>> grain;
  std::vector<BenchMark> marks;
  /// which side it shows, where that is known
  std::optional<Side> side;
  /// of a measured panel: what its edges are numbered by
  panel::Marks panel_marks;
  /// of a piece: where its edge 1 starts
  std::optional<Vec2> first_corner;
};

enum class PieceLine { cut, sew };

/// A measured panel, straight across its notches.
ComparedShape compared_panel(const panel::Panel& panel);

/// One of a piece's lines; every point has the piece's U.
ComparedShape compared_piece(const Piece& piece, PieceLine line);

/// A line without uncertainty, turned to run counter-clockwise. Precondition: at least three points.
ComparedShape compared_line(Polyline closed, std::string name, std::string kind);

/// What the other side shows: mirrored in x = 0, running counter-clockwise again.
ComparedShape other_side(const ComparedShape& shape);

}  // namespace chalkfold::draft
