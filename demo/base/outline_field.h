// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "demo/base/cell_grid.h"

namespace chalkfold::demo {

/// A flat region bounded by closed polylines (even-odd: an outline and its cut-outs), prepared for a renderer's
/// questions. All answers but signed_distance() are exact for the polylines given. Read-only after construction.
class OutlineField {
 public:
  /// `reach` (mm): how far from the outline signed_distance() tells distances apart; beyond, it saturates.
  /// Precondition: at least one ring, each with at least three points.
  OutlineField(std::vector<Polyline> rings, double reach);

  const geometry::Box& box() const { return box_; }
  const std::vector<Polyline>& rings() const { return rings_; }
  double reach() const { return reach_; }

  bool inside(const Vec2& p) const;

  /// True when the outline passes within `distance` of p. Precondition: distance <= near_limit.
  bool edge_within(const Vec2& p, double distance) const;
  /// mm
  static constexpr double near_limit = 2.0;

  struct Crossing {
    /// share of the way from a to b
    double along;
    /// unit, outwards
    Vec2 normal;
  };
  /// The first place where the stretch a-b enters or leaves the region.
  std::optional<Crossing> first_crossing(const Vec2& a, const Vec2& b) const;

  /// Distance to the outline, negative inside, from a 1 mm raster (interpolated; off by under 0.05 mm and 1 % of
  /// the distance, away from corners). For shades, not for edges.
  float signed_distance(const Vec2& p) const;

 private:
  struct Segment {
    Vec2 a, b;
  };
  void build_inside_flags();
  void build_distances();
  double exact_distance(const Vec2& p, std::span<const int> candidates) const;

  std::vector<Polyline> rings_;
  geometry::Box box_;
  double reach_;
  std::vector<Segment> segments_;
  CellGrid grid_;
  std::vector<char> centre_inside_;
  Vec2 raster_origin_ = Vec2::Zero();
  int raster_columns_ = 0, raster_rows_ = 0;
  std::vector<float> raster_;
};

}  // namespace chalkfold::demo
