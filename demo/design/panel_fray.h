// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "demo/base/scene.h"

namespace chalkfold::demo {

/// Frays the panel's edge: the seen outline jitters about the true one (zero mean, 0.15 mm) and threads of 0.3 mm stick
/// out by 1 mm to `longest`. `outline` stays the edge without fray. Precondition: seen_outline is set.
void fray(LaidPanel& panel, std::uint64_t seed, double longest = 4);

/// Lays `count` loose threads, 25 to 70 mm long, from the edge outwards over the table.
void add_loose_threads(LaidPanel& panel, int count, std::uint64_t seed);

}  // namespace chalkfold::demo
