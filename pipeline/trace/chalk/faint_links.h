// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/chalk/panel_picture.h"
#include "pipeline/trace/chalk/stroke_finder.h"

namespace chalkfold::trace {

struct FaintLinkOptions {
  /// mm between two ends
  double least = 3, most = 90;
  /// of the length of the strokes whose ends they are
  double most_share = 0.6;
  /// cosine between the way a stroke runs out of its end and the way to the other end
  double least_facing = 0.2;
  /// mm that the link may lie beside the smooth curve between the ends
  double aside = 8;
  /// of the strokes' own, on the link's average
  double least_ink = 0.15;
  /// by which it stands out from links found in the same way elsewhere on the panel
  double least_spreads = 3.5;
};

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
std::vector<FaintLink> faint_links(const PanelPicture& picture, const std::vector<Stroke>& strokes,
                                   const FaintLinkOptions& options = {});

}  // namespace chalkfold::trace
