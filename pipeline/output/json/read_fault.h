// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/common/fault.h"
#include "pipeline/output/json/json_place.h"

namespace chalkfold::output {

/// The faults that faults_json wrote. Throws FileError as JsonPlace does.
Faults read_faults(const JsonPlace& place);

}  // namespace chalkfold::output
