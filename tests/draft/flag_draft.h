// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "tests/draft/drawn_shapes.h"

namespace chalkfold::drawn {

/// A flag: no axis, no two sides alike, so that a mirrored drawing shows. Corners counter-clockwise from the lower left.
inline Polyline flag_corners() { return {{0, 0}, {300, 40}, {260, 210}, {110, 160}, {40, 240}}; }

/// A panel as trace would give it: outline with noise, one match mark on the first edge, a notch on the second, a drill hole.
inline panel::Panel flag_panel(double noise = 0.05, std::uint32_t seed = 1) {
  panel::Panel panel;
  panel.name = "flag";
  panel.photo = "flag.jpg";
  panel.outline = measured(polygon(flag_corners()), noise, seed);
  panel::MatchMark mark;
  const Vec2 a(0, 0), b(300, 40), along = (b - a).normalized(), inward(-along.y(), along.x());
  mark.foot = a + 100 * along;
  mark.tip = mark.foot + 14 * inward;
  mark.along = 100;
  panel.marks.matches.push_back(mark);
  panel.marks.holes.push_back({{150, 90}, 4, 0.1, 0.9});
  panel.U_median = 0.1;
  return panel;
}

}  // namespace chalkfold::drawn
