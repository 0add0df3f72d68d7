// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/curve.h"

namespace chalkfold::geometry {

/// One edge of a closed counter-clockwise outline and how far its parallel lies outside; a negative distance lies inside.
struct OffsetEdge {
  Curve curve;
  /// mm
  double distance = 0;
};

/// How parallels are joined and written.
struct OffsetOptions {
  /// a mitre reaches no further from the corner than this times the larger distance; beyond it is cut square
  double mitre_limit = 3;
  /// mm, of arcs that stand for the parallel of a cubic
  double tolerance = 0.005;
  /// parallels of cubics as cubics where one does; otherwise as arcs
  bool keep_cubics = false;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const OffsetOptions& options);

/// Where a parallel cannot be had.
struct OffsetTrouble {
  enum class Kind {
    /// a bend has a smaller radius than the distance; the loop that the parallel makes there is cut off
    bend_too_tight,
    /// the parallels of different places cross
    crosses_itself,
    /// nothing is left inside: the piece is narrower than both distances
    turned_over,
  };
  Kind kind = Kind::crosses_itself;
  Vec2 at = Vec2::Zero();
};

struct OffsetResult {
  /// in the order given, end to end; mitres belong half to either edge
  std::vector<Curve> edges;
  /// the whole, flattened to 0.02 mm, closed
  Polyline line;
  std::vector<OffsetTrouble> troubles;
  bool whole() const { return troubles.empty(); }
};

/// Parallels of all edges, joined at the corners: carried on straight to where they meet (mitre) on the outside of a corner,
/// trimmed where they cross on its inside; small loops, where a bend or a nick is tighter than the distance, are cut off and told of; edges that are parallel to each other but not level are joined by a straight step.
/// Lines and arcs have exact parallels. Self-crossing is found by the library Clipper (B. R. Vatti, "A generic solution to polygon
/// clipping", 1992). Precondition: at least one edge, edges are end to end (to 0.1 um) and closed; a single edge without a corner joins smoothly with itself.
OffsetResult offset_edges(const std::vector<OffsetEdge>& edges, const OffsetOptions& options = {});

/// Places where a closed polyline crosses itself; empty when it is simple.
Polyline self_crossings(const Polyline& closed);

/// The part of a curve between two arc lengths, mm. Precondition: 0 <= from < to <= length(curve), up to rounding.
Curve part_between(const Curve& curve, double from, double to);

}  // namespace chalkfold::geometry
