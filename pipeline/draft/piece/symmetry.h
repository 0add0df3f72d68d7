// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "pipeline/draft/piece/outline_edges.h"
#include "pipeline/draft/piece/outline_mark.h"
#include "pipeline/draft/piece/piece.h"
#include "pipeline/draft/piece/symmetry_options.h"
#include "pipeline/geometry/reflection.h"

namespace chalkfold::draft {

/// What comes out of symmetrising, or of leaving it: edges in the panel's frame, counter-clockwise.
struct SymmetricOutline {
  std::vector<OutlineEdge> edges;
  std::vector<OutlineMark> marks;
  /// when it was done
  std::optional<geometry::MirrorAxis> axis;
  /// looked at, best first
  std::vector<geometry::MirrorAxis> candidates;
  /// mm rms, difference of the halves that measurement and fray explain
  double explained = 0;
  ShapeChange change;
};

/// Finds the axis (chalk and outline together, or the outline alone), decides, and makes the outline exactly symmetric: corner to
/// corner and mark to mark, both halves are run through in matched arc length and averaged, or one is kept; the half is fitted with
/// edges that cross the axis at a right angle (unless a corner lies on it) and mirrored. Marks on both halves are averaged, a mark
/// on one is mirrored; `fold` left or right takes the marks of the half that is kept as they are.
/// Throws UsageError as check() does. Precondition: a closed counter-clockwise contour of at least 8 points with sigma and U.
SymmetricOutline symmetrise(const panel::Contour& outline, const std::vector<OutlineMark>& marks,
                            const std::optional<panel::CentreLine>& chalk, const SymmetryOptions& options,
                            const EdgeOptions& edges);

}  // namespace chalkfold::draft
