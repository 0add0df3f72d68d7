// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/common/fault.h"

namespace chalkfold::output {

/// Faults for the report page, the gravest first, each in a box with what to do about it.
std::string faults_html(Faults faults);

}  // namespace chalkfold::output
