// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::geometry {

/// The place on an outline nearest to a point.
struct OutlinePlace {
  /// unit normal of the outline there
  Vec2 point = Vec2::Zero(), outward = Vec2::UnitX();
  /// mm from the outline's first point
  double along = 0;
  /// mm along `outward`, positive outside
  double away = 0;
  /// it lies between this point of the outline and the next
  std::size_t segment = 0;
};

/// A closed counter-clockwise polyline that answers where a point lies beside it.
class ClosedOutline {
 public:
  /// Precondition: at least three points, counter-clockwise. A point given twice in a row counts once.
  explicit ClosedOutline(Polyline points);

  const Polyline& points() const { return points_; }
  double length() const { return stations_.back(); }

  /// Over the whole outline.
  OutlinePlace nearest(const Vec2& p) const;
  /// Precondition: `before` is of an outline with as many points.
  /// Only within `reach` mm of the outline around the place found before: for points that moved little.
  OutlinePlace nearest_about(const Vec2& p, const OutlinePlace& before, double reach) const;
  /// The place at arc length `along` (taken round as often as need be).
  OutlinePlace at(double along) const;
  /// `count` places at equal arc length, the first half a step from the outline's first point.
  std::vector<OutlinePlace> places(std::size_t count) const;

 private:
  void look_at(std::size_t segment, const Vec2& p, double& least, double& part, std::size_t& best) const;
  OutlinePlace place(std::size_t segment, double part, const Vec2& p) const;

  Polyline points_;
  std::vector<double> stations_;  // of every point and, last, the whole length
};

}  // namespace chalkfold::geometry
