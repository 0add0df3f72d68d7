// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/draft/draft_piece.h"

/// The steps of draft_piece, which pair_pieces takes as well.
namespace chalkfold {

/// What is drafted from: the outline across its notches, or the old sew line; panel's frame.
struct DraftSource {
  Contour contour;
  std::vector<OutlineMark> marks;
  double existing = 0;  ///< mm, still to be taken off
};

/// A piece with its texts. Throws as check().
Piece titled(const Panel& panel, const DraftOptions& options);

/// May add no-needle-row to the piece's faults.
DraftSource draft_source(const Panel& panel, const DraftOptions& options, Piece& piece);

/// Everything from the edges on.
void finish_piece(Piece& piece, const Panel& panel, SymmetricOutline outline, double existing,
                  const DraftOptions& options);

}  // namespace chalkfold
