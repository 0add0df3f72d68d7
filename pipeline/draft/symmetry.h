// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "pipeline/draft/outline_edges.h"
#include "pipeline/draft/piece.h"
#include "pipeline/geometry/reflection.h"

namespace chalkfold {

enum class Symmetric {
  automatic,  ///< when a centre line is drawn, or the halves differ by no more than the measurement and the fray explain
  yes,
  no,
};

/// Which half is kept, as seen with the axis upright; `mean` averages both.
enum class Fold { mean, left, right };

struct SymmetryOptions {
  Symmetric symmetric = Symmetric::automatic;
  Fold fold = Fold::mean;
  double chalk_sigma = 0.3;          ///< mm, how far off a centre line is drawn by hand; added to its measured sigma
  double chalk_sigma_angle = 0.002;  ///< rad
};

/// A match mark or notch on an outline, before it is carried anywhere.
struct OutlineMark {
  PieceMark::Kind kind = PieceMark::Kind::match;
  NotchShape shape = NotchShape::vee;
  Vec2 foot = Vec2::Zero();
  double depth = 0;  ///< mm, as measured
  int group = 0;
  MarkOrigin origin = MarkOrigin::measured;
  bool on_left = false;  ///< of a mark that only one half has: it was drawn on the left one
};

/// What comes out of symmetrising, or of leaving it: edges in the panel's frame, counter-clockwise.
struct SymmetricOutline {
  std::vector<OutlineEdge> edges;
  std::vector<OutlineMark> marks;
  std::optional<MirrorAxis> axis;      ///< when it was done
  std::vector<MirrorAxis> candidates;  ///< looked at, best first
  double explained = 0;                ///< mm rms, difference of the halves that measurement and fray explain
  ShapeChange change;
};

/// Finds the axis (chalk and outline together, or the outline alone), decides, and makes the outline exactly symmetric: corner to
/// corner and mark to mark, both halves are run through in matched arc length and averaged, or one is kept; the half is fitted with
/// edges that cross the axis at a right angle (unless a corner lies on it) and mirrored. Marks on both halves are averaged, a mark
/// on one is mirrored; `fold` left or right takes the marks of the half that is kept as they are.
/// Precondition: a closed counter-clockwise contour with sigma and U.
SymmetricOutline symmetrise(const Contour& outline, const std::vector<OutlineMark>& marks,
                            const std::optional<CentreLine>& chalk, const SymmetryOptions& options,
                            const EdgeOptions& edges);

}  // namespace chalkfold
