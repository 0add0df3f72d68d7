// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::geometry {

/// A line that an outline is to be its own mirror image about.
struct MirrorAxis {
  /// where the axis passes the outline's centroid nearest
  Vec2 point = Vec2::Zero();
  /// unit; its y is not negative
  Vec2 direction = Vec2::UnitY();
  /// mm, of the mirrored outline's distance from the outline, each counted as 10 at most
  double rms = 0;
  /// mm, of the axis's offset at `point`
  double sigma = 0;
  /// rad
  double sigma_angle = 0;

  Vec2 image(const Vec2& p) const { return point + 2 * direction.dot(p - point) * direction - (p - point); }
};

/// A line that is known otherwise (chalk), with its uncertainty.
struct KnownAxis {
  Vec2 middle = Vec2::Zero(), direction = Vec2::UnitY();
  /// mm, across, at the middle
  double sigma = 0.3;
  /// rad
  double sigma_angle = 0.002;
  /// share of a half's width by which wear may have moved the outline's own axis: one half stretched by 2 % moves it by 1 %, and nothing in the outline tells
  double wear = 0.01;
};

/// Robust least squares of the reflection's residuals (Tukey's biweight) together with the known line, each weighted by its
/// uncertainty, wear's among the outline's. Residuals run along with their neighbours: `alike` mm of outline count as one observation, whose sigma is the spread
/// that is left. Precondition: a closed outline of at least 8 points, a direction that is not 0, alike > 0.
MirrorAxis fit_mirror_axis(const Polyline& outline, const Vec2& point, const Vec2& direction,
                           const std::optional<KnownAxis>& known, double alike = 60);

/// The outline's own axes, best (least rms) first; at most `most`. Looked for through the centroid at every 3 degrees.
/// Precondition: as fit_mirror_axis.
std::vector<MirrorAxis> mirror_axes(const Polyline& outline, std::size_t most = 4);

}  // namespace chalkfold::geometry
