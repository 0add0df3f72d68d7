// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>

#include "pipeline/output/json/records.h"
#include "pipeline/panel/mark.h"

namespace chalkfold::output {

/// A panel's marks for measured/NAME.json, as panel.schema.json describes them: points in the `panel` frame (mm), angles in degrees. The names are
/// those of mark.h. `crops` are the record's pictures of writing and numbers.
nlohmann::ordered_json marks_json(const panel::Marks& marks, const Vec2& origin, const std::vector<CropRecord>& crops);

/// How many of each kind, for results.json.
nlohmann::ordered_json mark_counts_json(const panel::Marks& marks);

}  // namespace chalkfold::output
