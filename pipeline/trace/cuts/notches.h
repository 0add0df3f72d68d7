// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/panel/panel.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/cuts/edge_strip.h"

namespace chalkfold::trace {

/// A notch and the course of its cut.
struct NotchCut {
  /// first, last and along are left at 0
  panel::Notch notch;
  /// table mm, from one side of the mouth to the other in the outline's direction, both ends on the edge
  Polyline course;
  /// mm along the base, of the mouth's sides
  double from = 0, to = 0;
};

/// V, round (U) notches and slits in one edge: where what lies beyond the edge is seen inside it, from the edge inward, over a short stretch.
///
/// Table and panel are told apart beside the edge, stretch by stretch, in the direction of colour that parts them best (R. A. Fisher, "The use of
/// multiple measurements in taxonomic problems", 1936). The depth of the cut is measured column by column as the area that shows the table, so
/// blur does not bias it; the shape is told from the widths at a quarter and three quarters of the depth. Chalk of the table's colour is told by
/// running on deeper than a notch, and by its grain.
std::vector<NotchCut> find_notches(const cv::Mat& photo_bgr, const survey::TableView& view, const EdgeBase& base,
                                   double height);

/// True when a stroke, long beyond the notch, runs through it: then the notch is chalk of the table's colour.
bool is_drawn(const NotchCut& cut, const Polyline& stroke);

}  // namespace chalkfold::trace
