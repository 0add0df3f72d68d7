// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "pipeline/draft/seam.h"

namespace chalkfold {

/// How an old panel differs from what it was cut as.
enum class WearKind {
  stretched,  ///< it became larger, hardly ever smaller: what was sat on
  either,     ///< larger or smaller: materials that shrink as well
};

struct AdjustOptions {
  SeamOptions seam;
  double wear = 0.01;  ///< share of its length by which an edge may have worn (1 sigma); common practice, no source
  std::map<std::string, double> piece_wear;  ///< share, of single pieces
  WearKind wear_kind = WearKind::stretched;
  double growth = 0.05;         ///< stretched: so much of the wear may a piece be made larger again (1 sigma)
  std::set<std::string> fixed;  ///< pieces that stay as they are
  double local =
      0.1;  ///< of the wear, as a share of an edge's length: how far an edge moves by itself, beside the stretch of its piece
  double corner_sigma = 0.01;  ///< rad, by which a corner's angle may change beside the stretch
  double spacing = 60;         ///< mm, between control points
  double move_limit = 6;       ///< mm, of any point of the sew line, rigid motion removed
  double most_wear = 3;    ///< a seam whose sides differ by more than so many sigmas of wear is a wrong pairing or ease
  double mitre_limit = 3;  ///< of the new cut lines
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const AdjustOptions& options);

/// Pieces that sew together, beside what was done to them.
struct AdjustedSet {
  std::vector<Piece>
      pieces;  ///< in the order given; those that nothing moved are the same bit by bit. Empty when there is no adjustment.
  SetReport report;
};

/// Makes the pieces' seams equal in length, from mark to mark, up to their ease, with the least movement that wear and measurement
/// explain. Nonlinear least squares (Ceres): the unknowns are those of ShapeField for every piece (a pair's two have the same) and
/// the marks' slides along their edges. Costs: the stretch of a piece as a whole over its wear (and over `growth` of it where the piece, or one
/// of its edges, would grow: the least worn piece of a set then tells the size); what its edges move beside that over U / 2 and `local` of the wear; the bends of
/// that movement; corners' angles; marks' slides over their sigma. Seams are held by weights so strong that what is left is
/// below 0.01 mm where they can be met at all. Fixed pieces keep their unknowns at 0.
///
/// Fault codes: those of find_fault, and seam-unlikely (a difference that wear does not explain; a seam of fixed pieces),
/// seams-contradict (they cannot all be met), moves-too-far (over the limit), adjustment-failed. Each but seam-piece-refused (a warning) is
/// a refusal that names the seam to look at (the one without which the others go best), and what else would fit; there are no adjusted
/// pieces then. What the moved pieces' lines and labels tell is added; a piece that they refuse goes back as it was, see put_back.
/// The seams' method, unknowns and weights are our own; wear figures are common practice, no source.
AdjustedSet adjust_set(const std::vector<Piece>& pieces, const std::vector<SeamAsked>& seams,
                       const AdjustOptions& options = {});

/// The same without adjustment: seams and unpaired edges of the pieces as they are.
SetReport report_set(const std::vector<Piece>& pieces, const std::vector<SeamAsked>& seams,
                     const SeamOptions& options = {});

}  // namespace chalkfold
