// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "pipeline/common/fault.h"
#include "pipeline/draft/change/change_figures.h"
#include "pipeline/draft/change/change_options.h"
#include "pipeline/draft/change/compared_shape.h"
#include "pipeline/draft/change/percent_change.h"
#include "pipeline/draft/piece/outline_edges.h"
#include "pipeline/geometry/outline_registration.h"

namespace chalkfold::draft {

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
  /// mm
  double length = 0, width = 0;
};

/// The measured extents against given ones. Where a side of the smallest rectangle lies within 5 degrees of the grain the rectangle's
/// sides are the extents: a grain arrow is drawn by hand, and 2 degrees on it would lengthen 600 x 450 mm by 15 mm. Without any grain the
/// longer number belongs to the longer side. Precondition: both numbers are positive.
DimensionalChange dimensional_change(const NominalSize& reference, const ComparedShape& measured,
                                     const ChangeOptions& options = {});

}  // namespace chalkfold::draft
