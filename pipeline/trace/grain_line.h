// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/trace/mark.h"
#include "pipeline/trace/panel_picture.h"
#include "pipeline/trace/stroke_finder.h"

namespace chalkfold {

struct GrainLineOptions {
  double least_length = 35;  ///< mm, of the shaft
  double most_bow = 2;       ///< mm, rms of the shaft about its line
  double least_alone = 25;   ///< significance of the shaft when no match mark has its colour
  double least_leg = 0.45;   ///< ink (1 on the shaft) along a head's side
};

struct GrainLineResult {
  std::optional<GrainLine> line;
  std::vector<std::size_t> strokes;  ///< shaft first, then the head's
};

/// The arrow that gives the grain: a straight shaft with a head at one end (two strokes or filled), or at both. The head is looked for as ink
/// on both sides of the shaft, running back from its end at 12 to 60 degrees, with bare material beyond; weave and ribs that pass for one show such ink beside the
/// rest of the shaft too. A line without a head is no grain line. `used` strokes are match marks.
GrainLineResult find_grain_line(const PanelPicture& picture, const std::vector<Stroke>& strokes,
                                const std::vector<bool>& used, const GrainLineOptions& options = {});

}  // namespace chalkfold
