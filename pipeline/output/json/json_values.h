// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>

#include "pipeline/common/fault.h"

namespace chalkfold::output {

/// A fault as all JSON outputs write it.
nlohmann::ordered_json fault_json(const Fault& fault);

nlohmann::ordered_json faults_json(const Faults& faults);

/// A number rounded to `decimals`, so that files stay short; null when it is not finite.
nlohmann::ordered_json rounded(double value, int decimals);

}  // namespace chalkfold::output
