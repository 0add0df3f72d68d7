// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/output/drawing/piece_drawing.h"
#include "pipeline/output/drawing/svg.h"

namespace chalkfold::output {

/// SVG file of a piece at true scale, as svg_of writes a drawing: mm, one group a layer (id "layer-1" ...), lines only, no
/// fill. The labels are drawn as single strokes in "layer-15", the grain line has its arrow heads. Throws std::logic_error
/// as drawing_of does.
std::string piece_svg(const draft::Piece& piece, const PieceDrawingOptions& options = {}, const SvgOptions& svg = {});

/// The drawing that piece_svg writes.
Drawing pen_drawing_of(const draft::Piece& piece, const PieceDrawingOptions& options = {});

}  // namespace chalkfold::output
