// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>

#include "pipeline/trace/chalk/panel_picture.h"

namespace chalkfold::trace {

/// What lies on a panel is judged by what the same measurement shows at other places of it. These places are spread evenly over the picture and the
/// same every time (J. H. Halton's sequence of 1960 in the bases 2 and 3).

/// mm, by which a thing with this middle is moved to the i-th place, i from 1. Places off the panel are among them.
Vec2 displaced_shift(const PanelPicture& picture, const Vec2& middle, int i);

/// The share of what such places show that is judged by, the least first: strokes may lie under the rest. As a fraction, so that counts stay whole.
inline constexpr std::size_t trim_kept = 9, trim_of = 10;
/// Root mean square of a normal's values, in that of all of them, when the largest tenth is left out: 0.789.
inline constexpr double trimmed_spread = 0.79;

}  // namespace chalkfold::trace
