// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/panel/mark.h"
#include "pipeline/trace/chalk/panel_picture.h"
#include "pipeline/trace/chalk/stroke_finder.h"

namespace chalkfold::trace {

/// Round openings of a drill or awl: small islands that depart far from the material, round, alone, and of the table's colour or darker. Glyphs
/// and chalk dust are neither round nor alone; needle holes are told by their rows and their size.
std::vector<panel::DrillHole> find_drill_holes(const PanelPicture& picture, const std::vector<Stroke>& strokes,
                                               const std::vector<panel::NeedleRow>& rows);

}  // namespace chalkfold::trace
