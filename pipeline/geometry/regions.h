// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::geometry {

// Set operations on areas bounded by closed polylines, by the polyclipping library (B. Vatti, "A generic solution to polygon clipping",
// 1992), on a grid of 0.1 um. Results run counter-clockwise; holes are left out; largest first.

/// Outer boundaries of what at least one covers.
std::vector<Polyline> united(const std::vector<Polyline>& areas);

/// Outer boundaries of what both cover.
std::vector<Polyline> overlap(const Polyline& a, const Polyline& b);

/// Outer boundaries of what is left of an area once a rim of `width` mm is taken off (square corners stay square).
std::vector<Polyline> without_rim(const Polyline& area, double width);

/// Area that both cover, mm2.
double overlap_area(const Polyline& a, const Polyline& b);

/// Area of what none of the others covers, mm2.
double area_without(const Polyline& area, const std::vector<Polyline>& others);

/// A line as it is drawn.
struct BroadLine {
  /// along its middle, open
  Polyline points;
  /// mm; its ends are round
  double width = 1;
};

/// An area with what it leaves bare inside.
struct RingedArea {
  /// counter-clockwise
  Polyline outer;
  /// its holes, counter-clockwise too
  std::vector<Polyline> inside;
};

/// What drawn lines cover together, piece by piece, largest outer boundary first.
std::vector<RingedArea> covered_by(const std::vector<BroadLine>& lines);

/// Outer boundaries of all places of an area where a disc of this radius fits in (morphological opening): what is narrower than the disc is gone.
std::vector<Polyline> opened(const Polyline& area, double radius);

}  // namespace chalkfold::geometry
