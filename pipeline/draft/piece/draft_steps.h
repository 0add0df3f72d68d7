// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/draft/piece/draft_options.h"
#include "pipeline/panel/panel.h"

/// The steps of draft_piece, which pair_pieces takes as well.
namespace chalkfold::draft {

/// What is drafted from: the outline across its notches, or the old sew line; panel's frame.
struct DraftSource {
  panel::Contour contour;
  std::vector<OutlineMark> marks;
  /// mm, still to be taken off
  double existing = 0;
};

/// A piece with its texts. Throws as check().
Piece titled(const panel::Panel& panel, const DraftOptions& options);

/// May add no-needle-row to the piece's faults.
DraftSource draft_source(const panel::Panel& panel, const DraftOptions& options, Piece& piece);

/// Everything from the edges on.
void finish_piece(Piece& piece, const panel::Panel& panel, SymmetricOutline outline, double existing,
                  const DraftOptions& options);

}  // namespace chalkfold::draft
