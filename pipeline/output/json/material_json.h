// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>

#include "pipeline/output/json/records.h"

namespace chalkfold::output {

/// `material` of results.json: one a material, with what was taken for it, areas in mm2, the roll, where every copy lies on it, hides
/// and its faults. Places: x along the roll, y across, mm; a copy lies at its outline, inside up, turned by turn_deg about the frame's
/// origin and then shifted.
nlohmann::ordered_json material_json(const Results& results);

}  // namespace chalkfold::output
