// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/panel/panel.h"

namespace chalkfold::trace {

/// A line that someone drew on a panel, or a part of it.
struct ChalkLine {
  /// mm, along its middle
  Polyline points;
  /// mm
  double width = 0;
  double confidence = 0;
  panel::Srgb colour{};
};

/// mm, the longest break that a ring may have and still counts as closed; common practice, no source
inline constexpr double ring_gap = 10;

/// A ring with a break longer than ring_gap.
struct OpenRing {
  /// in the middle of its longest break
  Vec2 at = Vec2::Zero();
  /// mm, that break
  double gap = 0;
  /// mm, the longer side of the box around it
  double across = 0;
};

struct Rings {
  /// left to right, then bottom to top, by their middles; U from the lines' edges alone
  std::vector<panel::Flaw> flaws;
  std::vector<OpenRing> open;
};

/// What drawn lines enclose. Lines may be pieces of one ring, run past its beginning or cross: what they cover together counts, with breaks of up to
/// `ring_gap` mm between an end and another line bridged straight. A flaw is what a ring and everything in it cover, loose ends taken off; rings that touch are one flaw.
/// Method: union and opening of areas (regions.h).
Rings rings_of(const std::vector<ChalkLine>& lines);

/// The stretches of `more` that none of `known` has, added to it: the same line as another photo shows it.
void add_lines(std::vector<ChalkLine>& known, const std::vector<ChalkLine>& more);

/// Sets panel.flaws from the lines on it, and tells the rings that are open: ring-open, a warning each. `photo`: for the faults.
void set_flaws(panel::Panel& panel, const std::vector<ChalkLine>& lines, const std::string& photo);

}  // namespace chalkfold::trace
