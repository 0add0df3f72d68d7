// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "demo/design/panel_design.h"

namespace chalkfold::demo {

/// Point and inward unit normal of a counter-clockwise outline's edge.
struct EdgePoint {
  Vec2 at, inward;
  /// unit, counter-clockwise
  Vec2 along() const { return {inward.y(), -inward.x()}; }
};

/// At a share (0 to 1) of a polyline's length.
EdgePoint at_share(const Polyline& line, double share);

/// One edge (a polyline with both ends) with those of the notches that lie on it cut in, slits only when asked; its end
/// left out.
Polyline notched(const Polyline& line, int edge, const std::vector<NotchAt>& notches, bool slits);

}  // namespace chalkfold::demo
