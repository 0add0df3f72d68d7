// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/trace/chalk/panel_picture.h"

namespace chalkfold::trace {

/// What lies on a panel is judged by what the same measurement shows at other places of it. These places are spread evenly over the picture and the
/// same every time (J. H. Halton's sequence of 1960 in the bases 2 and 3).

/// mm, by which a thing with this middle is moved to the i-th place, i from 1. Places off the panel are among them.
Vec2 displaced_shift(const PanelPicture& picture, const Vec2& middle, int i);

/// Standard deviation of a normal's values, in that of all of them, when the largest tenth is left out: strokes may lie under some places.
inline constexpr double trimmed_spread = 0.79;

}  // namespace chalkfold::trace
