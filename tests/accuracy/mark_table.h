// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "tests/accuracy/mark_trial.h"

namespace chalkfold::accuracy {

/// The trials as tables to read: match marks by material (in the order of demo::mark_materials) and by contrast, then every
/// other kind, then the panels that were not measured.
std::string table_of(const std::vector<TrialResult>& trials);

/// One line a trial: what was missed and what invented.
std::string line_of(const TrialResult& trial);

}  // namespace chalkfold::accuracy
