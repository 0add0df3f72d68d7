// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/edge_corners.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::geometry {

/// Affine map target_from_source of the plane.
struct Affine2 {
  Mat2 linear = Mat2::Identity();
  Vec2 shift = Vec2::Zero();
  Vec2 operator*(const Vec2& p) const { return linear * p + shift; }
};

/// How ways of laying an outline on another are looked for.
struct RegistrationOptions {
  /// starting directions about the centroids
  std::size_t turns = 36;
  /// of each outline, the sharpest, that are laid on each other as starts
  std::size_t corners = 6;
  /// compared along the outline while starts are sifted
  std::size_t coarse_places = 72;
  /// compared in the end
  std::size_t places = 600;
  /// that are kept
  std::size_t candidates = 4;
  /// rad (15 deg): nearer candidates are the same
  double apart_angle = 0.26;
  /// mm, of the robust weights: what a good measurement leaves anyway
  double least_scale = 0.1;
  int coarse_rounds = 8, rounds = 40;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const RegistrationOptions& options);

/// One way of laying an outline on another.
struct OutlineRegistration {
  /// target_from_source
  Rigid2 rigid;
  /// target_from_source, started from `rigid`
  Affine2 affine;
  /// mm, distances left by the rigid motion
  double rigid_rms = 0;
  /// mm, those left by the affine map; outliers count here, though they do not draw it
  double affine_rms = 0;
  /// largest change of a length under the affine map, share
  double strain = 0;
  /// What candidates are ranked by: the affine map's rms, and a tenth of the rigid motion's, so that a panel which fits the other way
  /// round only by a large strain comes second.
  double score() const { return affine_rms + 0.1 * rigid_rms; }
};

/// One comparison of an affine fit: the source's place carried over must lie on the target's tangent there.
struct FitPlace {
  /// in the source's frame
  OutlinePlace source;
  /// nearest to the source's place carried over
  OutlinePlace target;
  /// 0..1, Tukey's biweight
  double weight = 0;
};

/// Ways in which the source outline lies on the target, best (least score) first, at most `candidates`; never mirrored. Starts: the
/// centroids on each other in all directions, and corners on corners of like turn; each refined by least squares of the distances to
/// the target's tangents (Y. Chen and G. Medioni, "Object modelling by registration of multiple range images", 1992, in 2-D) with Tukey's
/// biweight; the best then by an affine map in the same way. Always gives at least one.
std::vector<OutlineRegistration> register_outlines(const ClosedOutline& source, const ClosedOutline& target,
                                                   const RegistrationOptions& options = {});

/// The comparisons that the affine map of a fit was solved from, at its solution.
std::vector<FitPlace> places_of(const OutlineRegistration& fit, const ClosedOutline& source,
                                const ClosedOutline& target, const RegistrationOptions& options = {});

}  // namespace chalkfold::geometry
