// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/output/json/results.h"

namespace chalkfold::output {

/// The report's part on how the pieces go together: a table of the seams before and after adjustment, the intervals between their
/// marks, what was moved with its picture, proposals, and edges that nothing is sewn to. Empty when there is nothing to say.
std::string seams_html(const Results& results);

}  // namespace chalkfold::output
