// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/panel/mark.h"
#include "pipeline/trace/base/stroke_shape.h"
#include "pipeline/trace/chalk/match_mark_sizes.h"
#include "pipeline/trace/chalk/stroke_finder.h"

namespace chalkfold::trace {

/// Short straight strokes that run from the outline inward. One that ends short of it counts when grains of its ink go on to it; one that runs on
/// into what is written beside it counts up to there. `picture` is the one that the strokes were found in. Sets used[i] for the strokes taken.
/// What is longer, slants more or stays away from the outline is left for other marks. `outline` is that across the notches.
std::vector<panel::MatchMark> find_match_marks(const PanelPicture& picture, const std::vector<Stroke>& strokes,
                                               const geometry::ClosedOutline& outline, std::vector<bool>& used);

}  // namespace chalkfold::trace
