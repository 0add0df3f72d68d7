// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "demo/panel_design.h"
#include "demo/scene.h"

namespace chalkfold::demo {

/// What years of use did to a panel. The axis of a symmetric panel stays straight.
struct Wear {
  double stretch_right_percent = 0;  ///< the half x > 0 grew by this across the axis
  double crooked = 0;                ///< mm, largest smooth displacement of the edge
};

struct LayOptions {
  Rigid2 table_from_panel{};
  double thickness = 1.2;
  std::optional<int> tag{};
  Material material{};
  Colour core{0.55F, 0.52F, 0.45F};
  Wear wear{};
  bool frayed = false;
  int loose_threads = 0;
  bool chalked = true;  ///< false leaves centre line, match marks, grain and writing out
  Colour chalk{0.85F, 0.85F, 0.82F};
  double chalk_width = 1.8;  ///< mm, 1 to 3
  std::uint64_t seed = 1;
};

/// Lays a designed panel on the table: wear, notches, chalk, needle holes, threads, and the truth about all of them.
Panel lay_panel(const PanelDesign& design, const LayOptions& options);

}  // namespace chalkfold::demo
