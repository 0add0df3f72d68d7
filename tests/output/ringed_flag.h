// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "tests/output/flag_panel.h"

namespace chalkfold::test {

/// Of ringed_flag: 200 x 120 mm less the notch and two flaws of 40 x 40 mm, one of which covers the cut-out.
inline constexpr double ringed_flag_usable = 200 * 120 - 0.5 * 20 * 12 - 2 * 40 * 40;

/// The flag as a hide, face up, with two square flaws: one at its upper right, one around its cut-out.
inline panel::Panel ringed_flag(const std::string& name = "hide") {
  panel::Panel panel = flag_panel(name);
  panel.kind = panel::PanelKind::hide;
  panel.face_up = true;
  const Vec2 at = panel.outline.points.front();
  for (const Vec2& low : {Vec2(10, 10), Vec2(120, 60)}) {
    panel::Flaw flaw;
    for (const Vec2& corner : {Vec2(0, 0), Vec2(40, 0), Vec2(40, 40), Vec2(0, 40)})
      flaw.ring.push_back(at + low + corner);
    flaw.width = 2.4;
    flaw.gap = 3;
    flaw.U = 0.5;
    flaw.confidence = 0.75;
    flaw.colour = {220, 221, 210};
    panel.flaws.push_back(flaw);
  }
  return panel;
}

}  // namespace chalkfold::test
