// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string_view>

#include "pipeline/draft/piece/piece.h"

namespace chalkfold::draft {

/// The words of the label that tells which side a drawing shows. A drawing of the other side replaces the one by the
/// other, so a label that tells the side has these words and no others.
inline std::string_view side_label(Side side) { return side == Side::inside ? "inside up" : "face up"; }

}  // namespace chalkfold::draft
