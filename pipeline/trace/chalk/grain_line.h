// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/panel/mark.h"
#include "pipeline/trace/chalk/panel_picture.h"
#include "pipeline/trace/chalk/stroke_finder.h"

namespace chalkfold::trace {

struct GrainLineResult {
  std::optional<panel::GrainLine> line;
  /// shaft first, then the head's
  std::vector<std::size_t> strokes;
};

/// The arrow that gives the grain: a straight shaft with a head at one end (two strokes or filled), or at both. The head is looked for as ink
/// on both sides of the shaft, running back from its end at 12 to 60 degrees, with bare material beyond; weave and ribs that pass for one show such ink beside the
/// rest of the shaft too. A line without a head is no grain line. `used` strokes are match marks.
GrainLineResult find_grain_line(const PanelPicture& picture, const std::vector<Stroke>& strokes,
                                const std::vector<bool>& used);

}  // namespace chalkfold::trace
