// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <string>

#include "pipeline/draft/outline_edges.h"
#include "pipeline/draft/piece.h"
#include "pipeline/draft/symmetry.h"
#include "pipeline/trace/panel.h"

namespace chalkfold {

/// What is asked of one piece. Stages in running order.
struct DraftOptions {
  std::string part, job, material;  ///< texts for the labels
  int number = 1;                   ///< in its set
  int quantity = 1;
  bool one_mirrored = false;       ///< of two, one is the mirror image
  Side side = Side::inside;        ///< which side was up in the photo
  bool existing_measured = false;  ///< the old allowance comes from the needle rows
  double existing_allowance = 10;  ///< mm, from the old cut edge to the old sew line; 0: the panel was cut on the seam
  SymmetryOptions symmetry;
  EdgeOptions edges;
  double allowance = 10;                     ///< mm, of the new cut line; common practice, no source
  std::map<int, double> edge_allowances;     ///< mm, by edge number
  double mitre_limit = 3;                    ///< times the allowance
  NotchShape notch_style = NotchShape::vee;  ///< how notches are cut; match marks stay drawn lines
  double notch_depth = 4;                    ///< mm, at most half the allowance
  std::optional<double>
      grain_deg;  ///< degrees from the drawing's x axis, counter-clockwise; instead of the drawn arrow
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const DraftOptions& options);

/// Drafts the piece that a panel was: corners and edges, symmetry, sew line, new cut line, marks, labels. In the panel's frame.
/// Fault codes of its own: not-symmetrised, no-needle-row, allowance-folds, sew-line-crosses, too-narrow, edge-not-followed,
/// no-such-edge,
/// cut-out-one-sided, nick-taken-for-notch, labels-dropped. A piece with a refusal among them has its outline and no lines that cannot be had.
/// Throws UsageError as check() does; precondition: an outline of at least 8 points.
Piece draft_piece(const Panel& panel, const DraftOptions& options = {});

/// Numbers edges 1, 2, ... counter-clockwise from the corner nearest the left of the underside letter (where its left runs into the
/// outline), or without one from the corner nearest the lower left of the outline's box. Turns the order, changes no edge.
void order_edges(std::vector<OutlineEdge>& edges, const Marks& marks);

}  // namespace chalkfold
