// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/closed_outline.h"

namespace chalkfold::trace {

/// mm along an outline, rising: its corners, where two edges meet.
std::vector<double> corner_places(const geometry::ClosedOutline& outline);

}  // namespace chalkfold::trace
