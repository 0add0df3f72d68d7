// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <optional>

#include "demo/design/panel_design.h"

namespace chalkfold::demo {

/// A slot to be cut into a panel from a place on its edge.
struct SlotCut {
  int edge = 0;
  /// share of the edge's length, of the mouth's middle
  double along = 0.5;
  /// mm; the depth along the middle line, to the end
  double width = 6, depth = 50;
  /// rad, of a straight slot from the edge's normal; a curved one starts along the normal
  double lean = 0;
  /// 1/mm, positive turns left on the way in; at most 1 rad over the depth
  double curvature = 0;
  bool round_end = true;
};

/// A wedge cut out of a panel's edge: its tip is an inner corner.
struct WedgeCut {
  int edge = 0;
  double along = 0.5;
  /// rad, between its sides on a straight edge
  double angle = 1;
  /// mm
  double depth = 40;
};

/// mm that stay between a cut and whatever else the panel has: edges, cut-outs, other cuts
inline constexpr double least_web = 22;

/// The panel with the cut as part of its edges, told of in `slots` or `inner_corners`, and no longer symmetric. Marks, notches and needle
/// lines of the edge that was cut are dropped, and so are lines and writing that the cut comes near. nullopt when there is no room.
std::optional<PanelDesign> with_slot(const PanelDesign& design, const SlotCut& cut);
std::optional<PanelDesign> with_wedge(const PanelDesign& design, const WedgeCut& cut);

/// Where a panel is cut in two: from a place on one edge to one on a later edge.
struct PartingCut {
  int from_edge = 0, to_edge = 2;
  double from_along = 0.5, to_along = 0.5;
  /// mm, by which the two controls of the cut's curve stand off its chord
  std::array<double, 2> bulge{0, 0};
};

/// Both parts, in the whole panel's frame, so that they share the cut's line; named with "a" and "b" added. They keep the marks of edges that
/// stayed whole, and cut-outs, grain and writing that lie in one of them. Precondition: from_edge < to_edge, both edges of the design.
std::array<PanelDesign, 2> parted(const PanelDesign& design, const PartingCut& cut);

}  // namespace chalkfold::demo
