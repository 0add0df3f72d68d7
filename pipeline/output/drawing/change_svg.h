// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/draft/piece/piece.h"

namespace chalkfold::output {

/// Where a panel had stretched: an SVG picture, for the report, of what symmetrising or pairing moved. In the piece's frame, as its
/// side is seen, y up as ever: the outline before in grey, after in black, the axis dash-dot, and an arrow about every `change_arrow_gap`
/// mm from where the outline was the way it went, `scale` times as long; the scale, the largest move and the rms stand below.
/// Sized in mm at true scale; bytes are the same for the same piece. A change that was not done, or of fewer than three points, gives an
/// empty text. Throws std::logic_error for a scale that is not positive, or moves that are not as many as the points.
std::string change_svg(const draft::ShapeChange& change, const draft::Piece& piece, double scale);

/// A round scale (1, 2, 5, 10, 20, ... 500) at which the longest arrow is up to a tenth of the outline's smaller side.
double change_scale(const draft::ShapeChange& change);

inline constexpr double change_arrow_gap = 16;

}  // namespace chalkfold::output
