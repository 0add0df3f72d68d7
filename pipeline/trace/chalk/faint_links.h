// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/chalk/panel_picture.h"
#include "pipeline/trace/chalk/stroke_finder.h"

namespace chalkfold::trace {

/// A stretch between the ends of two strokes, or of one, along which the same chalk shows too faintly to be a stroke of its own.
struct FaintLink {
  /// table mm, from end to end
  Polyline points;
  /// of the strokes' own, on its average
  double ink = 0;
  /// the strokes
  std::size_t from = 0, to = 0;
};

/// Links between ends that face each other: the inkiest path beside a smooth curve, found by dynamic programming, and kept when the best paths beside the same
/// curve at other places of the panel are far less inky. So a hand that pressed lightly for a few centimetres does not open a ring, and bare material does not close one.
std::vector<FaintLink> faint_links(const PanelPicture& picture, const std::vector<Stroke>& strokes);

}  // namespace chalkfold::trace
