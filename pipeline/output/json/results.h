// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/output/json/json_values.h"
#include "pipeline/output/json/records.h"

namespace chalkfold::output {

/// Version of results.json: the whole number goes up when a field changes its meaning or goes.
inline constexpr const char* results_schema = "chalkfold-results-1";

/// results.json as results.schema.json describes it: two-space indent, keys in a fixed order, no date. mm, px and
/// degrees as the names say.
std::string results_json(const Results& results);

}  // namespace chalkfold::output
