// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>
#include <numbers>

#include "tests/output/flag_panel.h"

namespace chalkfold::test {

/// A large panel with a lively, asymmetric outline of 2400 points whose coordinates are no round numbers, and a round
/// cut-out. Not self-crossing.
inline panel::Panel wavy_panel(const std::string& name) {
  const auto ring = [](const Vec2& centre, double radius, double liveliness, int count, bool clockwise) {
    panel::Contour contour;
    for (int k = 0; k < count; ++k) {
      const double t = (clockwise ? -1 : 1) * 2 * std::numbers::pi * k / count;
      const double r =
          radius * (1 + liveliness * (std::sin(2 * t + 0.3) + 0.4 * std::sin(3 * t) + 0.1 * std::sin(17 * t)));
      contour.points.push_back(centre + r * Vec2(1.3 * std::cos(t), std::sin(t)));
    }
    contour.sigma.assign(contour.points.size(), 0.03);
    contour.U.assign(contour.points.size(), 0.2);
    return contour;
  };
  panel::Panel panel = flag_panel(name);
  panel.outline = ring({-137.123, 71.77}, 260, 0.12, 2400, false);
  panel.cutouts = {ring({-90.5, 40.25}, 30, 0, 200, true)};
  panel.area = geometry::signed_area(panel.outline.points) + geometry::signed_area(panel.cutouts[0].points);
  return panel;
}

}  // namespace chalkfold::test
