// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "demo/base/scene.h"
#include "demo/design/panel_design.h"

namespace chalkfold::demo {

/// What years of use did to a panel. The axis of a symmetric panel stays straight.
struct Wear {
  /// the half x > 0 grew by this across the axis
  double stretch_right_percent = 0;
  /// mm, largest smooth displacement of the edge
  double crooked = 0;
};

/// What lies on a panel or is sewn into it and is no mark. Panel frame, mm.
struct Clutter {
  std::vector<Crease> creases{};
  /// decorative: stitches of 3 mm with gaps of 1 mm
  std::vector<Polyline> sewn_lines{};
  Colour sewn_colour{0.6F, 0.5F, 0.3F};
  /// pieces of sewing thread lying about
  std::vector<Polyline> threads{};
  Colour thread_colour{0.7F, 0.7F, 0.65F};
};

struct LayOptions {
  geometry::Rigid2 table_from_panel{};
  double thickness = 1.2;
  std::optional<int> tag{};
  Material material{};
  Colour core{0.55F, 0.52F, 0.45F};
  Wear wear{};
  bool frayed = false;
  /// mm, of the threads that stick out of a frayed edge
  double longest_fray = 4;
  int loose_threads = 0;
  /// false leaves centre line, match marks, grain and writing out
  bool chalked = true;
  Colour chalk{0.85F, 0.85F, 0.82F};
  /// mm, 1 to 5
  double chalk_width = 1.8;
  /// see Chalk
  float chalk_strength = 0.85F;
  /// see Chalk
  float chalk_broken = 0;
  /// mm, how far a stroke strays to either side
  double chalk_wobble = 0.35;
  Clutter clutter{};
  std::uint64_t seed = 1;
};

/// Lays a designed panel on the table: wear, notches, chalk, needle holes, threads, and the truth about all of them.
LaidPanel lay_panel(const PanelDesign& design, const LayOptions& options);

}  // namespace chalkfold::demo
