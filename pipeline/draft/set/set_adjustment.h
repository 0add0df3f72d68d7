// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "pipeline/draft/set/adjust_options.h"
#include "pipeline/draft/set/adjusted_set.h"
#include "pipeline/draft/set/seam.h"

namespace chalkfold::draft {

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

}  // namespace chalkfold::draft
