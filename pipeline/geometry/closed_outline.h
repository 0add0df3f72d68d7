// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::geometry {

/// The place on an outline nearest to a point.
struct OutlinePlace {
  Vec2 point = Vec2::Zero();
  /// unit normal of the segment that it lies on; zero where that has no length
  Vec2 outward = Vec2::UnitX();
  /// mm from the outline's first point
  double along = 0;
  /// mm along `outward`, positive outside; where the place is a corner, of the side that is named only
  double away = 0;
  /// it lies between this point of the outline and the next
  std::size_t segment = 0;
};

/// A closed counter-clockwise polyline measured by arc length, that answers where a point lies beside it. Holds a copy of the points.
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
  /// The place at arc length `along` (taken round as often as need be, either way).
  OutlinePlace at(double along) const;
  /// `count` places at equal arc length, the first half a step from the outline's first point.
  std::vector<OutlinePlace> places(std::size_t count) const;
  /// First crossing of the ray from `from` along the unit `direction`, no farther than `reach` mm.
  std::optional<OutlinePlace> crossing(const Vec2& from, const Vec2& direction, double reach) const;
  /// Unit normal out of the outline at arc length `along`, from the chord over `arm` mm either side: what single points' noise moves little.
  Vec2 outward_over(double along, double arm) const;
  /// Shorter way round between two places, mm.
  double apart(double along_a, double along_b) const;

 private:
  struct Found {
    double least = 1e300, share = 0;
    std::size_t segment = 0;
  };
  void look_at(std::size_t segment, const Vec2& p, Found& found) const;
  OutlinePlace place(std::size_t segment, double share, const Vec2& p) const;

  Polyline points_;
  /// of every point and, last, the whole length
  std::vector<double> stations_;
};

}  // namespace chalkfold::geometry
