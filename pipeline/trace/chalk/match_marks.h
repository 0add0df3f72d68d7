// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/panel/mark.h"
#include "pipeline/trace/base/stroke_shape.h"
#include "pipeline/trace/chalk/stroke_finder.h"

namespace chalkfold::trace {

struct MatchMarkOptions {
  /// mm, from the outline to the inner end
  double least_length = 6, most_length = 60;
  /// mm between the outline and the stroke: chalk skips where the edge gives way
  double most_gap = 4.5;
  /// rad, between the stroke and the outline's normal
  double most_slant = 0.8;
  /// mm, the same where the stroke's ink shows in between
  double most_gap_inked = 10;
  /// of the stroke's own, on the gap's average
  double least_ink_in_gap = 0.2;
  /// of such a stroke: one that would be kept without a known ink
  double least_significance_inked = 11;
  /// rad, of such a stroke, and of one that runs on into what is written beside it
  double most_slant_inked = 0.4;
  /// mm, rms of the stroke about its line
  double most_bow = 1.6;
  /// mm along the outline between marks drawn together
  double together = 14;
};

/// Short straight strokes that run from the outline inward. One that ends short of it counts when grains of its ink go on to it; one that runs on
/// into what is written beside it counts up to there. `picture` is the one that the strokes were found in. Sets used[i] for the strokes taken.
/// What is longer, slants more or stays away from the outline is left for other marks. `outline` is that across the notches.
std::vector<panel::MatchMark> find_match_marks(const PanelPicture& picture, const std::vector<Stroke>& strokes,
                                               const geometry::ClosedOutline& outline, std::vector<bool>& used,
                                               const MatchMarkOptions& options = {});

}  // namespace chalkfold::trace
