// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "pipeline/draft/piece/piece.h"

namespace chalkfold::draft {

/// Texts of a piece in the order in which they are dropped last: name, quantity, side, piece number, allowance, part, job, where it
/// was measured. "cut 1"; "cut 2, one mirrored"; "cut 1, adjusted to its seams"; "inside up".
std::vector<std::string> label_lines(const Piece& piece);

/// Fills `labels` and `internal`: the text block, edge numbers beside the edges' middles, the underside letter, "fold" along the axis
/// and a square of 50 mm to check the scale with. All inside the sew line, touching no line and no other label; the block nearest the
/// middle, lettering of 10 mm or as large as fits, down to 3 mm. What does not fit is dropped, first the square, then the last lines
/// of the block, and named in a fault (labels-dropped). A piece whose sew line is not laid gets none.
void place_labels(Piece& piece);

}  // namespace chalkfold::draft
