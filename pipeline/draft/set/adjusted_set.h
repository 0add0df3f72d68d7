// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/draft/piece/piece.h"
#include "pipeline/draft/set/seam.h"

namespace chalkfold::draft {

/// Pieces that sew together, beside what was done to them.
struct AdjustedSet {
  /// in the order given; those that nothing moved are the same bit by bit. Empty when there is no adjustment.
  std::vector<Piece> pieces;
  SetReport report;
};

}  // namespace chalkfold::draft
