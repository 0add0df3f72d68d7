// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>

#include "pipeline/output/json/records.h"

namespace chalkfold::output {

/// `sewing` of results.json: stitch, roles, the steps in order, thread (mm); null without seams.
nlohmann::ordered_json sewing_json(const Results& results);

}  // namespace chalkfold::output
