// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/output/json/results.h"

namespace chalkfold::output {

/// The report's section on what material the set takes; empty when no piece names a material.
std::string material_html(const Results& results);

}  // namespace chalkfold::output
