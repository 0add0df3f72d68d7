// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/geometry/curve_fit.h"
#include "pipeline/geometry/edge_corners.h"
#include "pipeline/panel/panel.h"

namespace chalkfold::draft {

/// How an outline is cut into edges, and how closely they follow it.
struct EdgeOptions {
  geometry::EdgeCornerOptions corners;
  /// mm, largest departure of an edge's curve
  double tolerance = 0.3;
  /// mm from a corner that do not shape the edges: corners are worn and frayed round
  double blunt = 2.5;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const EdgeOptions& options);

/// An edge of an outline, from corner to corner.
struct OutlineEdge {
  geometry::Curve curve;
  /// mm
  double largest_departure = 0;
  bool within_tolerance = true;
  /// mm, medians over its points
  double sigma = 0, U = 0;
  /// measured, in order
  Polyline points;
};

/// Edges of a closed counter-clockwise outline, in order; an outline without corners is one closed edge. Each is fitted alone,
/// then neighbours are carried on to where they meet and fitted again with that corner held.
/// Precondition: the contour has at least 3 points with sigma and U. `corners`: as found, or none to have them found.
std::vector<OutlineEdge> fit_edges(const panel::Contour& outline, const EdgeOptions& options,
                                   const std::optional<std::vector<geometry::OutlineCorner>>& corners = {});

/// An open stretch of outline with the corners inside it, to be fitted in the same way.
struct OutlinePath {
  /// in order; not closed
  panel::Contour contour;
  /// `along` from the path's start, rising, inside it
  std::vector<geometry::OutlineCorner> corners;
  /// what the curve must keep there
  geometry::ChainEnd start, end;
  /// points beside it are then left out of the fit
  bool start_is_corner = true, end_is_corner = true;
};

/// Edges of an open path: one more than it has corners. Precondition: at least 3 points with sigma and U.
std::vector<OutlineEdge> fit_path_edges(const OutlinePath& path, const EdgeOptions& options);

/// Where two curves meet, the first carried on beyond its end and the second before its start; nothing when they run alongside or
/// meet further than `reach` mm from both. Precondition: both curves have a segment.
std::optional<Vec2> meeting_point(const geometry::Curve& first, const geometry::Curve& second, double reach);

}  // namespace chalkfold::draft
