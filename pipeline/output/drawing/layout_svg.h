// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "pipeline/draft/layout/material.h"

namespace chalkfold::output {

/// Picture of a layout at true scale (mm): the roll from its beginning on the left, every copy that was placed with its grain arrow,
/// its number and its name, the material's inside up. Lines and words, no colour; empty when nothing is placed. A picture to lay by,
/// not a file to cut from: that is set.dxf. `pieces` as given to material_needs.
std::string layout_svg(const draft::MaterialNeed& need, const std::vector<draft::Piece>& pieces);

}  // namespace chalkfold::output
