// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/draft/piece/piece.h"

namespace chalkfold::output {

/// What a cutter's file holds.
struct CutterOptions {
  /// cut with the material's face up: the piece is turned over
  bool face = false;
  /// arcs of the cut line as arcs (bulge); otherwise as polylines
  bool arcs = true;
  /// mm, of those polylines
  double arc_tolerance = 0.05;
  /// draw it
  bool sew_line = true;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const CutterOptions& options);

/// DXF of a piece with only what a cutter acts on, release 12, in two layers. `cut`: the cut line as one closed POLYLINE,
/// notches from it inward, cut-outs, drill holes as circles. `draw`, for a pen: match marks, sew line, grain with its
/// arrow head, mirror line, check square and lettering. Frame as in Drawing. Throws std::logic_error for a piece without
/// a cut line or with an open one.
std::string cutter_dxf(const draft::Piece& piece, const CutterOptions& options = {});

}  // namespace chalkfold::output
