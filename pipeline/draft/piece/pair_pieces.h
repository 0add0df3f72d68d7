// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <utility>

#include "pipeline/draft/piece/draft_piece.h"

namespace chalkfold::draft {

/// What two panels of a pair are drafted from; there is nothing in it to check.
struct PairOptions {
  /// the mean of both panels, or the first (`left`) or second (`right`) alone, for both pieces
  Fold keep = Fold::mean;
};

/// Drafts two panels that are mirror images of each other in the design. The second is mirrored and registered to the first by a
/// rigid fit (every 5 degrees about the centroids, then trimmed least squares of the distances to the outline); both are run through
/// in matched arc length, corner to corner and mark to mark. The first piece lies in the first panel's frame, the second is its exact
/// mirror image in x = 0. `symmetry` of the options is not heeded: a pair's pieces are not symmetric themselves.
/// Fault code of its own: pair-differs, when after registration the two differ by more than their wear explains (4 mm rms).
/// `second_options` gives the second piece's texts. Throws UsageError as check() does. Precondition: outlines of at least 8 points.
std::pair<Piece, Piece> pair_pieces(const panel::Panel& first, const panel::Panel& second, const DraftOptions& options,
                                    const DraftOptions& second_options, const PairOptions& pair = {});

}  // namespace chalkfold::draft
