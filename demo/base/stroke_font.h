// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::demo {

/// Width of a glyph as a share of its height, and the step from one glyph to the next.
inline constexpr double glyph_width = 0.7, glyph_step = 1.0;

/// A text as one-line strokes, mm, y up: lower left corner of the first glyph at the origin, running along +x.
/// Known glyphs: 0-9, E, H, L, R, S, T, U and the space; any other throws std::logic_error.
std::vector<Polyline> text_strokes(const std::string& text, double height);

}  // namespace chalkfold::demo
