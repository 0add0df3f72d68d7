// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>

#include "pipeline/draft/piece/piece.h"
#include "pipeline/geometry/reflection.h"
#include "pipeline/panel/panel.h"

namespace chalkfold::draft {

/// Drill holes and cut-outs of the panel. With an axis they come out symmetric: a pair is averaged, one on the axis is averaged with
/// its own image, a lone hole is mirrored; a lone cut-out is left as measured, with a fault (cut-out-one-sided).
void take_inner_items(Piece& piece, const panel::Panel& panel, const std::optional<geometry::MirrorAxis>& axis);

}  // namespace chalkfold::draft
