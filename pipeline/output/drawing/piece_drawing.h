// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/draft/piece/piece.h"
#include "pipeline/output/drawing/drawing.h"

namespace chalkfold::output {

/// What of a piece is drawn; there is nothing in it to check.
struct PieceDrawingOptions {
  /// show the material's face: a piece that shows its inside is turned over, and labelled so
  bool face = false;
  /// draw the sew line
  bool sew_line = true;
};

/// The piece as it is to be shown: turned over when its face is asked for, with the label that tells the side put right and
/// without the underside letter.
/// A piece that shows its face already is left as it is.
draft::Piece shown_piece(const draft::Piece& piece, bool face);

/// Piece frame to drawing: drawing = piece + shift, never turned or mirrored; the cut line's box gets its lower left corner
/// at (0, 0). piece = drawing + piece_origin(piece). Throws std::logic_error for a cut line of fewer than three points.
Vec2 piece_origin(const draft::Piece& piece);

/// A piece in exchange layers: boundary the cut line, turn points its corners, curve points where its segments meet with
/// hardly a turn, marks from the cut line inward, mirror line, grain from tail to head, internal lines (those of more than
/// two points closed), cut-outs, drill holes, sew line, and the labels as texts. Remarks name the piece as ASTM D6673 does.
/// Throws std::logic_error as piece_origin does.
Drawing drawing_of(const draft::Piece& piece, const PieceDrawingOptions& options = {});

/// The course of a mark in the piece frame, from the cut line: two points for a slit or a match mark, mouth, tip and mouth
/// for a vee (as wide as deep), a half circle for a round notch. Open.
Polyline mark_course(const draft::Piece& piece, const draft::PieceMark& mark);

/// Heads of the grain arrow, one for a directed grain line and two otherwise, for files in which the grain is only drawn.
/// Open, in the piece frame; none without a grain line.
std::vector<Polyline> grain_heads(const draft::Piece& piece);

/// "Piece Name: seat top", "Quantity: 2, one mirrored", "Material: vinyl", "Annotation: face up", "Units: mm" ...
std::vector<std::string> piece_remarks(const draft::Piece& piece);

/// The texts of a drawing drawn as single strokes too, on Layer::text.
Drawing with_lettering(Drawing drawing);

}  // namespace chalkfold::output
