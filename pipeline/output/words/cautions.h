// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/draft/piece/piece.h"

namespace chalkfold::output {

/// Whether the piece may lie over an airbag in the side of a seat, by its name and part: "side" or "bolster" stands in
/// one of them, in capitals or not. Warns once too often rather than once too little.
bool may_cover_airbag(const draft::Piece& piece);

/// What to know before such a piece is cut.
std::string airbag_caution();

/// The same in a few words, for the sewing sheet beside each seam of such a piece.
std::string airbag_caution_short();

/// Whether the piece may be glued to foam or backing, by its name, part and material: "foam", "backing", "scrim", "fleece" or
/// "wadding" stands in one of them.
bool may_be_glued(const draft::Piece& piece);

/// What to know of spray glue.
std::string glue_caution();

/// What to know when a cover is pulled over the seat and fastened.
std::string ring_caution();

/// One sentence on the tools of the trade, for every first page.
std::string workshop_caution();

}  // namespace chalkfold::output
