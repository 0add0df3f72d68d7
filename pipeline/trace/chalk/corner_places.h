// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/base/stroke_shape.h"

namespace chalkfold::trace {

/// mm along an outline, rising: its corners, where two edges meet.
std::vector<double> corner_places(const OutlineRuler& outline);

}  // namespace chalkfold::trace
