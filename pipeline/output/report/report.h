// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/output/json/results.h"

namespace chalkfold::output {

/// report.html: one self-contained page (no script, no outside resource; pictures by relative link) with every panel,
/// photo and fault. `when` goes into the footer as it is: the only date in the outputs.
std::string report_html(const Results& results, const std::string& when);

/// Now, or the time that SOURCE_DATE_EPOCH gives (so that builds of a document can be repeated), as "2031-05-17 09:30
/// UTC".
std::string footer_time();

}  // namespace chalkfold::output
