// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/draft/set/adjusted_set.h"

namespace chalkfold::draft {

/// Where a piece cannot be cut as the adjustment moved it, the drafted one goes back in its place: its moves are none, and the seams
/// of `after` are compared anew. `why` go to the set's faults, each with words that say so. Precondition: the set is adjusted;
/// `drafted` are its pieces before, in the same order.
void put_back(AdjustedSet& set, const std::vector<Piece>& drafted, std::size_t piece, Faults why,
              const SeamOptions& options);

/// What the adjusted pieces tell that the drafted ones did not goes to the set's faults; those that are refused are put back.
void tell_moved(AdjustedSet& set, const std::vector<Piece>& drafted, const SeamOptions& options);

}  // namespace chalkfold::draft
