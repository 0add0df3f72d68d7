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

/// What lies on a panel or is sewn into it and is no mark. Panel frame, mm.
struct Clutter {
  std::vector<Crease> creases{};
  std::vector<Polyline> sewn_lines{};  ///< decorative: stitches of 3 mm with gaps of 1 mm
  Colour sewn_colour{0.6F, 0.5F, 0.3F};
  std::vector<Polyline> threads{};  ///< pieces of sewing thread lying about
  Colour thread_colour{0.7F, 0.7F, 0.65F};
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
  double chalk_width = 1.8;      ///< mm, 1 to 5
  float chalk_strength = 0.85F;  ///< see Chalk
  float chalk_broken = 0;        ///< see Chalk
  double chalk_wobble = 0.35;    ///< mm, how far a stroke strays to either side
  Clutter clutter{};
  std::uint64_t seed = 1;
};

/// Lays a designed panel on the table: wear, notches, chalk, needle holes, threads, and the truth about all of them.
Panel lay_panel(const PanelDesign& design, const LayOptions& options);

}  // namespace chalkfold::demo
