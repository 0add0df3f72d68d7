// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "pipeline/common/fault.h"
#include "pipeline/geometry/curve.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/panel/mark.h"

namespace chalkfold::draft {

/// Which side of the material a drawing shows.
enum class Side { inside, face };

/// One edge of a piece, from corner to corner, counter-clockwise.
struct PieceEdge {
  /// 1, 2, ... counter-clockwise from the corner nearest the underside's left
  int number = 0;
  /// net sew line, tangent-continuous inside the edge
  geometry::Curve sew;
  /// mm, from sew line to cut line
  double allowance = 10;
  /// mm, of the measured (or symmetrised) points from `sew`
  double largest_departure = 0;
  /// mm, median of the measured points
  double sigma = 0;
  /// mm (k = 2), median of the measured points along the normal
  double U = 0;
};

/// Where a mark of a piece comes from.
enum class MarkOrigin { measured, averaged, mirrored };

/// A match mark or notch, carried to the cut line.
struct PieceMark {
  enum class Kind { match, notch };
  Kind kind = Kind::match;
  /// how it is cut
  panel::NotchShape shape = panel::NotchShape::vee;
  /// number of its edge
  int edge = 1;
  /// mm from the edge's start, on the sew line
  double along = 0;
  Vec2 on_sew = Vec2::Zero(), on_cut = Vec2::Zero();
  /// unit normal of the sew line, into the piece
  Vec2 inward = Vec2::UnitX();
  /// mm from the cut line, never more than half the allowance
  double depth = 0;
  /// marks drawn together share a number
  int group = 0;
  MarkOrigin origin = MarkOrigin::measured;
};

/// A line of text in single-stroke letters, to be drawn and not cut.
struct PieceLabel {
  std::string words;
  /// left end of the baseline
  Vec2 at = Vec2::Zero();
  /// mm, of capitals
  double height = 8;
  /// rad, of the baseline
  double angle = 0;
  /// mm, of the baseline
  double length = 0;
};

/// What symmetrising or pairing moved.
struct ShapeChange {
  bool done = false;
  /// mm
  double rms = 0, largest = 0;
  /// measured points and how far each was moved: for the picture
  Polyline before, moves;
  /// why it was done, or not
  std::string reason;
};

/// The drafted pattern piece. Piece frame: mm, y up, as the panel lay (its `side` up) but for `piece_from_panel`, never mirrored unless side says otherwise.
struct Piece {
  std::string name, part, job, material;
  /// in its set
  int number = 1;
  int quantity = 1;
  /// of a quantity of two, one is the mirror image
  bool one_mirrored = false;
  /// which side this geometry shows
  Side side = Side::inside;
  std::vector<PieceEdge> edges;
  /// the edges flattened, closed, counter-clockwise
  Polyline sew_line;
  /// sew line offset outward by each edge's allowance, mitred: lines and arcs only, closed, counter-clockwise
  geometry::Curve cut;
  /// `cut` flattened
  Polyline cut_line;
  /// closed, clockwise
  std::vector<Polyline> cutouts;
  /// of a symmetric piece: the fold, from edge to edge of the cut line
  std::optional<std::array<Vec2, 2>> axis;
  /// tail, head
  std::optional<std::array<Vec2, 2>> grain;
  bool grain_directed = true;
  /// where the underside letter stands
  std::optional<Vec2> underside;
  std::vector<PieceMark> marks;
  /// drill holes: centre and diameter
  std::vector<std::pair<Vec2, double>> holes;
  /// lines drawn inside: 50 mm check square
  std::vector<Polyline> internal;
  std::vector<PieceLabel> labels;
  ShapeChange symmetry, pairing;
  /// not the identity for the second of a pair: it is the first one's mirror image
  geometry::Rigid2 piece_from_panel;
  /// to the pieces that it is sewn to: a set adjustment moved it
  bool adjusted = false;
  /// photo
  std::string measured_on;
  /// mm, median of the panel's outline
  double U = 0;
  Faults faults;
};

/// Index of the edge of a number; nothing when there is none. On a mirrored piece the edges' numbers run backwards.
std::optional<std::size_t> index_of_edge(const Piece& piece, int number);

/// What the other side shows: the mirror image in x = 0. Edges and marks keep their numbers and go on running
/// counter-clockwise, so their order turns round; an edge's start becomes its end; labels stay readable.
Piece other_side(const Piece& piece);

/// The mirror image in x = 0 with the same side up: the other piece of a pair.
Piece mirror_image(const Piece& piece);

}  // namespace chalkfold::draft
