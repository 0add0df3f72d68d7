// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::geometry {

/// A stretch of a curve: a line, a circular arc or a cubic (Bezier). mm.
struct CurveSegment {
  enum class Kind { line, arc, cubic };
  Kind kind = Kind::line;
  Vec2 from = Vec2::Zero(), to = Vec2::Zero();
  /// of an arc
  Vec2 centre = Vec2::Zero();
  /// the arc's way from `from` to `to`
  bool counter_clockwise = true;
  /// of a cubic
  Vec2 control1 = Vec2::Zero(), control2 = Vec2::Zero();

  /// Point and unit direction of travel at t in 0..1 (by angle for an arc, by parameter for a cubic).
  Vec2 at(double t) const;
  Vec2 direction(double t) const;
  double length() const;
  double radius() const { return (from - centre).norm(); }
  /// rad from `from` to `to` of an arc, positive counter-clockwise
  double turned() const;
};

/// end to end
using Curve = std::vector<CurveSegment>;

/// Points along a curve from its start to its end (both kept), off it by at most `tolerance` mm. Lines give no points between.
/// Of a cubic: parts by the bound on its second differences (G.-Z. Wang, "The subdivision method for finding the
/// intersection between two Bezier curves or surfaces", 1984). Precondition: tolerance > 0.
Polyline flattened(const Curve& curve, double tolerance);
double length(const Curve& curve);
CurveSegment reversed(const CurveSegment& segment);
Curve reversed(const Curve& curve);
/// Mirrored in the line through `point` along the unit `direction`; the way of travel is kept, so a closed counter-clockwise
/// curve comes out clockwise.
CurveSegment mirrored(const CurveSegment& segment, const Vec2& point, const Vec2& direction);

struct CurvePlace {
  /// unit, the way of travel
  Vec2 point = Vec2::Zero(), direction = Vec2::UnitX();
};

/// Place at arc length `along`, mm, from the curve's start; beyond its ends, the end. Precondition: the curve has a segment.
CurvePlace place_along(const Curve& curve, double along);

/// The parameter at arc length `along` from the segment's start (for a cubic, by bisection), 0..1.
double parameter_at(const CurveSegment& segment, double along);

/// The segment from its start to `at(t)`. Precondition: 0 < t <= 1.
CurveSegment first_part(const CurveSegment& segment, double t);

}  // namespace chalkfold::geometry
