// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold {

/// A stretch of a curve: a line, a circular arc or a cubic (Bezier). mm.
struct CurveSegment {
  enum class Kind { line, arc, cubic };
  Kind kind = Kind::line;
  Vec2 from = Vec2::Zero(), to = Vec2::Zero();
  Vec2 centre = Vec2::Zero();                         ///< of an arc
  bool counter_clockwise = true;                      ///< the arc's way from `from` to `to`
  Vec2 control1 = Vec2::Zero(), control2 = Vec2::Zero();  ///< of a cubic

  /// Point and unit direction of travel at t in 0..1 (by angle for an arc, by parameter for a cubic).
  Vec2 at(double t) const;
  Vec2 direction(double t) const;
  double length() const;
  double radius() const { return (from - centre).norm(); }
  double turned() const;      ///< rad from `from` to `to` of an arc, positive counter-clockwise
};

using Curve = std::vector<CurveSegment>;  ///< end to end

/// Points along a curve from its start to its end (both kept), off it by at most `tolerance` mm.
Polyline flattened(const Curve& curve, double tolerance);
double length(const Curve& curve);
CurveSegment reversed(const CurveSegment& segment);
/// Mirrored in the line through `point` along the unit `direction`; the way of travel is kept, so the order of points is not.
CurveSegment mirrored(const CurveSegment& segment, const Vec2& point, const Vec2& direction);

}  // namespace chalkfold
