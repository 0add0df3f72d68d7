// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "pipeline/common/fault.h"
#include "pipeline/geometry/curve.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/mark.h"

namespace chalkfold {

/// Which side of the material a drawing shows.
enum class Side { inside, face };

/// One edge of a piece, from corner to corner, counter-clockwise.
struct PieceEdge {
  int number = 0;                ///< 1, 2, ... counter-clockwise from the corner nearest the underside's left
  Curve sew;                     ///< net sew line, tangent-continuous inside the edge
  double allowance = 10;         ///< mm, from sew line to cut line
  double largest_departure = 0;  ///< mm, of the measured (or symmetrised) points from `sew`
  double sigma = 0;              ///< mm, median of the measured points
  double U = 0;                  ///< mm (k = 2), median of the measured points along the normal
};

/// Where a mark of a piece comes from.
enum class MarkOrigin { measured, averaged, mirrored };

/// A match mark or notch, carried to the cut line.
struct PieceMark {
  enum class Kind { match, notch };
  Kind kind = Kind::match;
  NotchShape shape = NotchShape::vee;  ///< how it is cut
  int edge = 1;                        ///< number of its edge
  double along = 0;                    ///< mm from the edge's start, on the sew line
  Vec2 on_sew = Vec2::Zero(), on_cut = Vec2::Zero();
  Vec2 inward = Vec2::UnitX();  ///< unit normal of the sew line, into the piece
  double depth = 0;             ///< mm from the cut line, never more than half the allowance
  int group = 0;                ///< marks drawn together share a number
  MarkOrigin origin = MarkOrigin::measured;
};

/// A line of text in single-stroke letters, to be drawn and not cut.
struct PieceLabel {
  std::string words;
  Vec2 at = Vec2::Zero();  ///< left end of the baseline
  double height = 8;       ///< mm, of capitals
  double angle = 0;        ///< rad, of the baseline
  double length = 0;       ///< mm, of the baseline
};

/// What symmetrising or pairing moved.
struct ShapeChange {
  bool done = false;
  double rms = 0, largest = 0;  ///< mm
  Polyline before, moves;       ///< measured points and how far each was moved: for the picture
  std::string reason;           ///< why it was done, or not
};

/// The drafted pattern piece. Piece frame: mm, y up, as the panel lay (its `side` up) but for `piece_from_panel`, never mirrored unless side says otherwise.
struct Piece {
  std::string name, part, job, material;
  int number = 1;  ///< in its set
  int quantity = 1;
  bool one_mirrored = false;  ///< of a quantity of two, one is the mirror image
  Side side = Side::inside;   ///< which side this geometry shows
  std::vector<PieceEdge> edges;
  Polyline sew_line;  ///< the edges flattened, closed, counter-clockwise
  Curve
      cut;  ///< sew line offset outward by each edge's allowance, mitred: lines and arcs only, closed, counter-clockwise
  Polyline cut_line;                         ///< `cut` flattened
  std::vector<Polyline> cutouts;             ///< closed, clockwise
  std::optional<std::array<Vec2, 2>> axis;   ///< of a symmetric piece: the fold, from edge to edge of the cut line
  std::optional<std::array<Vec2, 2>> grain;  ///< tail, head
  bool grain_directed = true;
  std::optional<Vec2> underside;  ///< where the underside letter stands
  std::vector<PieceMark> marks;
  std::vector<std::pair<Vec2, double>> holes;  ///< drill holes: centre and diameter
  std::vector<Polyline> internal;              ///< lines drawn inside: 50 mm check square
  std::vector<PieceLabel> labels;
  ShapeChange symmetry, pairing;
  Rigid2 piece_from_panel;  ///< not the identity for the second of a pair: it is the first one's mirror image
  bool adjusted = false;    ///< to the pieces that it is sewn to: a set adjustment moved it
  std::string measured_on;  ///< photo
  double U = 0;             ///< mm, median of the panel's outline
  Faults faults;
};

/// Index of the edge of a number; nothing when there is none. On a mirrored piece the edges' numbers run backwards.
std::optional<std::size_t> index_of_edge(const Piece& piece, int number);

/// What the other side shows: the mirror image in x = 0. Edges and marks keep their numbers and go on running
/// counter-clockwise, so their order turns round; an edge's start becomes its end; labels stay readable.
Piece other_side(const Piece& piece);

/// The mirror image in x = 0 with the same side up: the other piece of a pair.
Piece mirror_image(const Piece& piece);

}  // namespace chalkfold
