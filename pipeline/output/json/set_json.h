// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>

#include "pipeline/output/json/records.h"

namespace chalkfold::output {

/// Adds `seams`, `seam_proposals`, `unpaired_edges` and `adjustment` to results.json, as results.schema.json describes them.
void add_set(nlohmann::ordered_json& results, const SetRecord& set);

/// One seam; `after`: the same seam after adjustment, or none.
nlohmann::ordered_json seam_json(const draft::SeamReport& seam, const draft::SeamReport* after);

}  // namespace chalkfold::output
