// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/panel/mark.h"
#include "pipeline/trace/chalk/stroke_finder.h"

namespace chalkfold::trace {

/// Groups of the strokes not used for other marks, each boxed by the smallest rectangle around it. A single stroke that is straight is no
/// glyph, and what has not the colour of a stroke used for a mark (in `used`) is none: threads, creases and seams are lines too. Only the
/// underside letter may stand alone. Groups small and near enough to a match mark are given to it as its number.
std::vector<panel::Writing> find_writing(const std::vector<Stroke>& strokes, const std::vector<bool>& used,
                                         std::vector<panel::MatchMark>& matches);

/// Direction of up (rad) when one stroke, or several end to end, make the letter U: two arms near enough parallel and equal, joined
/// by one bend of half a turn, open at the other end. nullopt for anything else.
std::optional<double> underside_letter(const std::vector<Polyline>& strokes);

}  // namespace chalkfold::trace
