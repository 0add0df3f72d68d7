// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/panel/panel.h"

namespace chalkfold::trace {

/// What one photo shows of a panel's boundary, in the frame that all share.
struct OutlineView {
  /// closed, counter-clockwise; outside `seen` anything may be
  Polyline points;
  /// mm per point, along the normal, of the edge finding alone
  std::vector<double> sigma;
  /// mm per point, k = 2, everything
  std::vector<double> U;
  /// closed, mm: where the photo is to be believed; empty: everywhere
  Polyline seen;
};

struct JoinedOutline {
  /// closed, counter-clockwise
  Polyline points;
  /// one row a view, one column a point: its share in the point, 0..1, each column's sum 1
  std::vector<std::vector<double>> weights;
  /// the same: mm along the outward normal from the joined point to that view's line, where its weight is not 0
  std::vector<std::vector<double>> off;
  /// the same: the view is surely to be believed there, but has no line within reach: panel or sheets moved
  std::vector<std::vector<bool>> contrary;
  /// mm, edge finding, of the weighted mean
  std::vector<double> sigma;
};

/// mm: a photo whose line is farther from the others' than this does not see the same edge there. Chosen, not fitted.
constexpr double same_edge_reach = 3;

/// Weighted mean of the views' lines, weights 1/U2, each view only where it sees the boundary. None when the views together do not go all the way round;
/// `gap` then holds a place that none sees, and how long it is.
struct OutlineGap {
  Vec2 at = Vec2::Zero();
  /// mm
  double length = 0;
};
std::optional<JoinedOutline> join_outlines(const std::vector<OutlineView>& views, OutlineGap* gap = nullptr);

}  // namespace chalkfold::trace
