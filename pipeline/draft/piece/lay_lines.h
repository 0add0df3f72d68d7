// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/draft/piece/piece.h"
#include "pipeline/geometry/offset.h"
#include "pipeline/geometry/reflection.h"

/// The lines of a piece once its sew edges are known: for drafting, and for drafting again after an adjustment.
namespace chalkfold::draft {

/// Adds the faults too-narrow, allowance-folds and sew-line-crosses. `line`: "sew line" or "cut line"; `distance`: mm, of the offset.
void tell_troubles(Piece& piece, const geometry::OffsetResult& offset, const char* line, double distance);

/// Lays `cut` and `cut_line` outside the edges, each by its own allowance. `allowance`: mm, the one named in faults.
void lay_cut_line(Piece& piece, double mitre_limit, double allowance);

/// Puts a mark at its `along` on the edge's sew and cut line.
void put_mark(PieceMark& mark, const PieceEdge& edge);

/// From edge to edge of the cut line.
void draw_axis(Piece& piece, const geometry::MirrorAxis& axis);

}  // namespace chalkfold::draft
