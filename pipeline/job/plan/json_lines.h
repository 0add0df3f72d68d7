// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <string>
#include <string_view>

namespace chalkfold::job {

/// Line (from 1) on which each value of a JSON text starts, by its place as messages write it: "panels[2].name". The whole is "".
/// Comments (// and /* */) are passed over. Of text that is no JSON, what comes before the fault.
std::map<std::string, int> lines_of_values(std::string_view text);

}  // namespace chalkfold::job
