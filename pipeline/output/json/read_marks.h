// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/output/json/json_place.h"
#include "pipeline/output/json/results.h"

namespace chalkfold::output {

/// The marks that marks_json wrote, moved by `origin` from the `panel` frame to the table's, and the crops they name.
/// `outline_points` is how many points the outline has, which notches index. Throws FileError as read_panel_json does.
panel::Marks read_marks(const JsonPlace& place, const Vec2& origin, std::size_t outline_points,
                        std::vector<CropRecord>& crops);

/// [red, green, blue], 0..255.
panel::Srgb read_colour(const JsonPlace& place);

}  // namespace chalkfold::output
