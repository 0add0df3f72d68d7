// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "pipeline/draft/change/dimensional_change.h"

namespace chalkfold::output {

/// Version of compare.json: the whole number goes up when a field changes its meaning or goes.
inline constexpr const char* compare_schema = "chalkfold-compare-1";

/// The figures of a comparison: what results.json has of a panel. Percent as ISO 5077 signs them.
nlohmann::ordered_json change_figures_json(const draft::DimensionalChange& change);

/// compare.json as compare.schema.json describes it: the figures, the maps, and the residual map point by point. mm, y up, in the
/// measured file's frame, two-space indent, no date.
std::string compare_json_text(const draft::DimensionalChange& change);

}  // namespace chalkfold::output
