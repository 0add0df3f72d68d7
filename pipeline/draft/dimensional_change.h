// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "pipeline/common/fault.h"
#include "pipeline/draft/compared_shape.h"
#include "pipeline/draft/outline_edges.h"
#include "pipeline/geometry/outline_registration.h"

namespace chalkfold {

/// A dimensional change as ISO 5077 signs it: (after - before) / before x 100, so that minus is shrinkage.
struct PercentChange {
  double percent = 0;
  double U = 0;  ///< percent (k = 2)
};

double percent_change(double before, double after);

/// What must be cut for `length` to be there after the change: length / (1 + percent / 100).
double compensated_length(double length, double percent);

/// Two places on the measured panel whose distance before the change is known.
struct GivenDistance {
  Vec2 from = Vec2::Zero(), to = Vec2::Zero();  ///< in the measured file's frame
  double before = 0;                            ///< mm
};

struct ChangeOptions {
  std::optional<double> grain_deg;  ///< in the measured file's frame, counter-clockwise from its right
  bool other_side =
      false;  ///< the reference shows the other side and is mirrored before it is compared; so it is without
              ///< this where both shapes' sides are known and differ
  std::optional<double> bench;  ///< mm, between bench marks when they were drawn (350 in ISO 3759)
  std::vector<GivenDistance> given;
  double alike = 60;            ///< mm of outline whose departures count as one: they run along with their neighbours
  double residual_step = 5;     ///< mm, between the residual map's points
  double mirrored_share = 0.5;  ///< the mirrored reference fits better when it leaves less than this share
  double largest_strain = 0.2;  ///< share; what changed more is another panel
  double largest_left = 0.02;   ///< of the panel's length, rms left by the affine map: more is another panel
  double large_left = 1;        ///< mm rms, above which the change is more than along, across and shear
  EdgeOptions edges;
  RegistrationOptions registration;
};

/// Where the direction "along the grain" is from.
enum class DirectionFrom { given, measured_grain, reference_grain, longer_side };
std::string to_string(DirectionFrom from);

/// A length before and after, with its change.
struct LengthChange {
  double before = 0, after = 0;  ///< mm
  PercentChange change;
};

struct ResidualPoint {
  double along = 0;           ///< mm from the measured outline's first point
  Vec2 point = Vec2::Zero();  ///< measured
  Vec2 outward = Vec2::Zero();
  double departure = 0;  ///< mm, of the measured outline outside the reference laid on it rigidly
  double left = 0;       ///< mm, the same after the affine map: what along, across and shear do not explain
  double U = 0;          ///< mm, of `departure`
};

struct EdgeChange {
  int number = 1;  ///< as the measured panel's piece numbers its edges
  LengthChange length;
  double grain_deg = 0;                         ///< 0..90, between the edge's chord and the grain
  Vec2 from = Vec2::Zero(), to = Vec2::Zero();  ///< its corners on the measured outline
};

struct MarkDistance {
  std::string what;                             ///< "holes", "crosses", "hole and cross", "given"
  Vec2 from = Vec2::Zero(), to = Vec2::Zero();  ///< measured
  LengthChange length;
  double grain_deg = 0;  ///< 0..90, to the grain
};

/// How a panel changed against a reference. Everything drawn is in the measured file's frame.
struct DimensionalChange {
  std::string reference, reference_kind, measured, measured_kind;
  bool done = false;        ///< false: refused, see `faults`
  bool by_outline = false;  ///< false: only the extents were compared with given numbers
  bool reference_mirrored = false;
  DirectionFrom direction_from = DirectionFrom::longer_side;
  Vec2 direction = Vec2::UnitX();  ///< unit, along the grain, on the measured panel
  PercentChange along, across;
  double shear_deg = 0, shear_U_deg = 0;     ///< how much the angle between the grain and its left has closed
  LengthChange extent_along, extent_across;  ///< of the whole outline; their change is that of the extents alone
  Rigid2 measured_from_reference;
  Affine2 affine;                                ///< measured from reference
  double rigid_rms = 0;                          ///< mm, between the outlines as laid
  double left_rms = 0;                           ///< mm, after the affine map
  Polyline reference_outline, measured_outline;  ///< the reference's laid rigidly
  std::vector<ResidualPoint> residuals;
  std::vector<EdgeChange> edges;
  std::vector<MarkDistance> distances;
  Faults faults;
};

/// Lays the reference on the measured outline (rigidly, never mirrored: a mirrored one that fits much better is a refusal), fits the
/// affine map between them by robust least squares and takes from it the change along the grain, across it and the shear.
/// U (k = 2) of these comes from two parts. The residuals' spread, `alike` mm of outline counting as one observation; and the outlines'
/// own U, of which all but the point's own sigma is systematic: print scale, lens and thickness move a whole outline together, so that
/// part enters with the sign that does most harm at every point, as a stretched print scale would; the two outlines' parts are
/// independent of each other and are added in squares. That is an upper bound, since a file gives each point's U but not how they hang together.
/// Where several ways of laying the reference fit alike, directed grain arrows on both decide; without them it is a fault.
/// Fault codes: mirrored-fits-better, not-the-same-panel, registration-ambiguous, change-not-even, grain-disagrees, direction-assumed,
/// outside-method.
DimensionalChange dimensional_change(const ComparedShape& reference, const ComparedShape& measured,
                                     const ChangeOptions& options = {});

/// Extents known by numbers alone: length along the grain, width across it.
struct NominalSize {
  double length = 0, width = 0;  ///< mm
};

/// The measured extents against given ones. Where a side of the smallest rectangle lies within 5 degrees of the grain the rectangle's
/// sides are the extents: a grain arrow is drawn by hand, and 2 degrees on it would lengthen 600 x 450 mm by 15 mm. Without any grain the
/// longer number belongs to the longer side.
DimensionalChange dimensional_change(const NominalSize& reference, const ComparedShape& measured,
                                     const ChangeOptions& options = {});

}  // namespace chalkfold
