// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/piece_svg.h"

namespace chalkfold::output {

Drawing pen_drawing_of(const draft::Piece& given, const PieceDrawingOptions& options) {
  const draft::Piece piece = shown_piece(given, options.face);
  Drawing drawing = with_lettering(drawing_of(piece, {false, options.sew_line}));
  for (const Polyline& head : grain_heads(piece)) {
    drawing.lines.push_back({Layer::grain, in_panel_frame(head, piece_origin(piece)), false});
  }
  return drawing;
}

std::string piece_svg(const draft::Piece& piece, const PieceDrawingOptions& options, const SvgOptions& svg) {
  return svg_of(pen_drawing_of(piece, options), svg);
}

}  // namespace chalkfold::output
