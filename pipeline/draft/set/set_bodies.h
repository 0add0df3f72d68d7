// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/draft/set/seam.h"
#include "pipeline/draft/set/seam_run.h"
#include "pipeline/draft/set/shape_field.h"

namespace chalkfold::draft {

/// By how much a mark slides along its edge, counter-clockwise: sign * q[index], mm.
struct Slide {
  Eigen::Index index = 0;
  double sign = 1;
};

/// A shape of the set adjustment: one piece, or a pair that is each other's mirror image. Its unknowns q are those of its field, then
/// the slides of its marks.
struct Body {
  /// index of the piece whose frame it has
  std::size_t piece = 0;
  /// the other of a pair
  std::optional<std::size_t> mirrored_piece;
  ShapeField field;
  /// a mark each; none: it stays where the stretch takes it (on the axis)
  std::vector<std::optional<Slide>> slides;
  Eigen::Index size = 0;
  bool fixed = false;
  /// share
  double wear = 0.01;
};

/// One body for each piece with edges that was not refused; pairs (Piece::pairing, exact mirror images) share one.
std::vector<Body> bodies_of(const std::vector<Piece>& pieces, double spacing);

/// Which body a piece is, and whether as its mirror image.
struct BodyOf {
  std::size_t body = 0;
  bool mirrored = false;
};
std::optional<BodyOf> body_of(std::size_t piece, const std::vector<Body>& bodies);

/// One side of an interval between marks, on a body: where its sew line runs, and the marks that bound it (counter-clockwise on the body).
struct IntervalSide {
  std::size_t body = 0;
  std::vector<ArcNodes> arcs;
  /// mm, unmoved
  double length = 0;
  std::optional<Slide> at_start, at_end;
};

/// The intervals of a seam, both sides of each in the same order.
struct BodyInterval {
  IntervalSide a, b;
  /// mm
  double wanted = 0;
};

/// Precondition: the report is of these pieces, and every piece of it has a body.
std::vector<BodyInterval> intervals_of(const SeamReport& seam, const std::vector<Piece>& pieces,
                                       const std::vector<Body>& bodies);

/// Length of a side at `q`, mm; adds its gradient times `factor` to `gradient` when that is given.
double length_of(const IntervalSide& side, const double* q, double factor = 1, double* gradient = nullptr);

}  // namespace chalkfold::draft
