// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>

#include "demo/design/lay_panel.h"
#include "demo/design/panel_design.h"

namespace chalkfold::demo {

/// A panel with marks of every kind by chance, and what lies on it without being a mark.
struct MarkedPanel {
  PanelDesign design;
  Clutter clutter;
};

struct MarkDesignOptions {
  /// false: no chalk, notch, hole or needle row at all
  bool marks = true;
  /// creases, a decorative seam, a thread
  bool clutter = true;
};

/// One of the set's panels, stripped of its marks and given others: single, double and triple match marks, some close to
/// corners, some with a number; centre line over all or a part; grain arrow with either head or two heads; an underside
/// letter in any direction; figures; notches of three kinds; awl holes; needle rows, single or double, with worn parts.
/// Marks of different kinds keep clear of each other, needle rows excepted. The same seed gives the same panel.
MarkedPanel mark_design(std::uint64_t seed, const MarkDesignOptions& options = {});

}  // namespace chalkfold::demo
