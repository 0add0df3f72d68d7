// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string_view>
#include <vector>

#include "pipeline/draft/piece/piece.h"
#include "pipeline/geometry/point.h"

namespace chalkfold::draft {

/// Single-stroke lettering for pens and plotters: A-Z a-z 0-9, ASCII punctuation but $ @ ^ `, letters with the accents of the European
/// languages (composed or with combining marks), degree, plus-minus, times, micro and arrows. Anything else is a box,
/// control characters are spaces, bad UTF-8 is a box. The letters are chalkfold's own drawing, see letter_shapes.h.

/// Parts of the height of capitals.
/// how far g, j, p, q, y reach below the baseline
inline constexpr double letter_descent = 1.0 / 3;
/// top of a capital's accent above the baseline
inline constexpr double letter_ascent = 4.0 / 3;

/// Length of a line of text, mm, from its first stroke to its last, for capitals `height` mm high. Spaces at the ends
/// count, the gap after the last letter does not.
double text_length(std::string_view utf8, double height);

/// The label as lines for a pen, in the label's own frame (mm, y up). Empty words give no strokes. Each stroke has at
/// least two points; round ones are off their curve by less than 0.4 % of the height.
std::vector<Polyline> strokes_of(const PieceLabel& label);

}  // namespace chalkfold::draft
