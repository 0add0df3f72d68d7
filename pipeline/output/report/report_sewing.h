// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/output/json/results.h"

namespace chalkfold::output {

/// The report's sewing sheet; empty without seams.
std::string sewing_html(const Results& results);

}  // namespace chalkfold::output
