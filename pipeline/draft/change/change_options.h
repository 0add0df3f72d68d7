// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/draft/piece/outline_edges.h"
#include "pipeline/geometry/outline_registration.h"
#include "pipeline/geometry/point.h"

namespace chalkfold::draft {

/// Two places on the measured panel whose distance before the change is known.
struct GivenDistance {
  /// in the measured file's frame
  Vec2 from = Vec2::Zero(), to = Vec2::Zero();
  /// mm
  double before = 0;
};

/// How a panel is compared with what it was.
struct ChangeOptions {
  /// in the measured file's frame, counter-clockwise from its right
  std::optional<double> grain_deg;
  /// the reference shows the other side and is mirrored before it is compared; so it is without this where both shapes' sides are known and differ
  bool other_side = false;
  /// mm, between bench marks when they were drawn (350 in ISO 3759)
  std::optional<double> bench;
  std::vector<GivenDistance> given;
  /// mm of outline whose departures count as one: they run along with their neighbours
  double alike = 60;
  /// mm, between the residual map's points
  double residual_step = 5;
  /// the mirrored reference fits better when it leaves less than this share
  double mirrored_share = 0.5;
  /// share; what changed more is another panel
  double largest_strain = 0.2;
  /// of the panel's length, rms left by the affine map: more is another panel
  double largest_left = 0.02;
  /// mm rms, above which the change is more than along, across and shear
  double large_left = 1;
  EdgeOptions edges;
  geometry::RegistrationOptions registration;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const ChangeOptions& options);

}  // namespace chalkfold::draft
