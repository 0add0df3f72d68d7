// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/output/drawing/piece_drawing.h"

namespace chalkfold::output {

/// Exchange DXF of a piece, for pattern and nesting programs: one BLOCK with the piece in exchange layers, one INSERT of it
/// at the origin, release 12 only. Labels are TEXT where they stand on the piece; the piece's remarks ("Piece Name: ...",
/// ASTM D6673) are TEXT too, small, inside the piece where they cross no line and no label if there is such a place, else
/// over one another at its middle. Frame as in Drawing. Throws std::logic_error as drawing_of does.
std::string piece_dxf(const draft::Piece& piece, const PieceDrawingOptions& options = {});

/// The drawing with its remarks as texts, placed as above: what goes into a piece's BLOCK.
Drawing with_remarks(Drawing drawing);

}  // namespace chalkfold::output
