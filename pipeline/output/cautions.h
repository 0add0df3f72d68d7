// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/draft/piece.h"

namespace chalkfold {

/// Whether the piece may lie over an airbag in the side of a seat, by its name and part: "side" or "bolster" stands in
/// one of them, in capitals or not. Warns once too often rather than once too little.
bool may_cover_airbag(const Piece& piece);

/// What to know before such a piece is cut.
std::string airbag_caution();

/// One sentence on the tools of the trade, for every first page.
std::string workshop_caution();

}  // namespace chalkfold
