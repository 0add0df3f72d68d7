// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/survey/table_view.h"

namespace chalkfold::trace {

/// An outline between two corners as a smooth line: what the cut was meant to follow, with notches, fray and knots passed over.
struct EdgeBase {
  /// every `spacing` mm along it
  Polyline points;
  /// unit normals into the panel
  Polyline inward;
  /// arc length on the outline of each point's foot, mm, rising (beyond the outline's length past its first point)
  std::vector<double> along;
  /// mm
  double spacing = 1;
  /// an outline without a corner: the last point is followed by the first
  bool closed = false;
};

/// The smooth edges of an outline in order, by robust local quadratic fits (W. Cleveland, "Robust locally weighted regression", 1979),
/// one-sided at corners.
std::vector<EdgeBase> edge_bases(const geometry::ClosedOutline& outline);

/// The photo beside an edge, straightened: column = mm along the edge's base, row = mm into the panel. Neither turned nor mirrored: seen from
/// above, with the panel below the base and the direction of travel (counter-clockwise) to the left for a reader facing inward.
struct EdgeStrip {
  /// CV_8UC3
  cv::Mat bgr;
  double mm_per_px = 1;
  /// mm of row 0, negative outside the panel
  double first_depth = 0;
  const EdgeBase* base = nullptr;

  /// mm along the base
  double along_of(double column) const { return column * mm_per_px; }
  double depth_of(double row) const { return first_depth + row * mm_per_px; }
  Vec2 table_from_strip(double column, double row) const;
};

/// Straightens the photo between two depths. `height` of the panel's face in the table frame, mm.
EdgeStrip edge_strip(const cv::Mat& photo_bgr, const survey::TableView& view, const EdgeBase& base, double height,
                     double first_depth, double last_depth, double mm_per_px);

}  // namespace chalkfold::trace
