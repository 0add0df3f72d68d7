// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "pipeline/common/fault.h"
#include "pipeline/draft/change/percent_change.h"
#include "pipeline/geometry/outline_registration.h"
#include "pipeline/geometry/point.h"

namespace chalkfold::draft {

/// Where the direction "along the grain" is from.
enum class DirectionFrom { given, measured_grain, reference_grain, longer_side };
std::string to_string(DirectionFrom from);

/// A length before and after, with its change.
struct LengthChange {
  /// mm
  double before = 0, after = 0;
  PercentChange change;
};

struct ResidualPoint {
  /// mm from the measured outline's first point
  double along = 0;
  /// measured
  Vec2 point = Vec2::Zero();
  Vec2 outward = Vec2::Zero();
  /// mm, of the measured outline outside the reference laid on it rigidly
  double departure = 0;
  /// mm, the same after the affine map: what along, across and shear do not explain
  double left = 0;
  /// mm, of `departure`
  double U = 0;
};

struct EdgeChange {
  /// as the measured panel's piece numbers its edges
  int number = 1;
  LengthChange length;
  /// 0..90, between the edge's chord and the grain
  double grain_deg = 0;
  /// its corners on the measured outline
  Vec2 from = Vec2::Zero(), to = Vec2::Zero();
};

struct MarkDistance {
  /// "holes", "crosses", "hole and cross", "given"
  std::string what;
  /// measured
  Vec2 from = Vec2::Zero(), to = Vec2::Zero();
  LengthChange length;
  /// 0..90, to the grain
  double grain_deg = 0;
};

/// How a panel changed against a reference. Everything drawn is in the measured file's frame.
struct DimensionalChange {
  std::string reference, reference_kind, measured, measured_kind;
  /// false: refused, see `faults`
  bool done = false;
  /// false: only the extents were compared with given numbers
  bool by_outline = false;
  bool reference_mirrored = false;
  DirectionFrom direction_from = DirectionFrom::longer_side;
  /// unit, along the grain, on the measured panel
  Vec2 direction = Vec2::UnitX();
  PercentChange along, across;
  /// how much the angle between the grain and its left has closed
  double shear_deg = 0, shear_U_deg = 0;
  /// of the whole outline; their change is that of the extents alone
  LengthChange extent_along, extent_across;
  geometry::Rigid2 measured_from_reference;
  /// measured from reference
  geometry::Affine2 affine;
  /// mm, between the outlines as laid
  double rigid_rms = 0;
  /// mm, after the affine map
  double left_rms = 0;
  /// the reference's laid rigidly
  Polyline reference_outline, measured_outline;
  std::vector<ResidualPoint> residuals;
  std::vector<EdgeChange> edges;
  std::vector<MarkDistance> distances;
  Faults faults;
};

}  // namespace chalkfold::draft
