// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <string>

#include "pipeline/draft/piece/draft_options.h"
#include "pipeline/draft/piece/outline_edges.h"
#include "pipeline/draft/piece/piece.h"
#include "pipeline/draft/piece/symmetry.h"
#include "pipeline/panel/panel.h"

namespace chalkfold::draft {

/// Drafts the piece that a panel was: corners and edges, symmetry, sew line, new cut line, marks, labels. In the panel's frame.
/// Fault codes of its own: not-symmetrised, no-needle-row, allowance-folds, sew-line-crosses, too-narrow, edge-not-followed,
/// no-such-edge,
/// cut-out-one-sided, nick-taken-for-notch, labels-dropped. A piece with a refusal among them has its outline and no lines that cannot be had.
/// Throws UsageError as check() does; precondition: an outline of at least 8 points.
Piece draft_piece(const panel::Panel& panel, const DraftOptions& options = {});

/// Numbers edges 1, 2, ... counter-clockwise from the corner nearest the left of the underside letter (where its left runs into the
/// outline), or without one from the corner nearest the lower left of the outline's box. Turns the order, changes no edge.
void order_edges(std::vector<OutlineEdge>& edges, const panel::Marks& marks);

}  // namespace chalkfold::draft
