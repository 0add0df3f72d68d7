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

struct RingOptions {
  /// mm, the longest break that a ring may have and still counts as closed; common practice, no source
  double gap = 10;
  /// mm, of what a ring leaves bare inside: less is a knot, or two lines side by side
  double least_width = 10;
  /// share of a ring that is drawn; the rest may be breaks
  double least_drawn = 0.75;
  /// share of an open ring that is drawn: with less of it, it is a line or a letter
  double open_drawn = 0.6;
  /// mm, 1 standard deviation of a ring's outer edge, against truth on rendered photographs
  double edge_sigma = 0.25;
};

/// A ring with a break longer than RingOptions::gap.
struct OpenRing {
  /// in the middle of its longest break
  Vec2 at = Vec2::Zero();
  /// mm, that break
  double gap = 0;
  /// mm, the longer side of the box around it
  double across = 0;
};

struct Rings {
  /// left to right, then bottom to top, by their middles; U from edge_sigma alone
  std::vector<panel::Flaw> flaws;
  std::vector<OpenRing> open;
};

/// What drawn lines enclose. Lines may be pieces of one ring, run past its beginning or cross: what they cover together counts, with breaks of up to
/// `gap` mm between an end and another line bridged straight. A flaw is what a ring and everything in it cover, loose ends taken off; rings that touch are one flaw.
/// Method: union and opening of areas (regions.h).
Rings rings_of(const std::vector<ChalkLine>& lines, const RingOptions& options = {});

/// The stretches of `more` that none of `known` has, added to it: the same line as another photo shows it.
void add_lines(std::vector<ChalkLine>& known, const std::vector<ChalkLine>& more);

/// Sets panel.flaws from the lines on it, and tells the rings that are open: ring-open, a warning each. `photo`: for the faults.
void set_flaws(panel::Panel& panel, const std::vector<ChalkLine>& lines, const std::string& photo,
               const RingOptions& options = {});

}  // namespace chalkfold::trace
