// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "demo/camera/surfaces.h"

namespace chalkfold::demo {

/// Light that leaves a hit towards the camera, linear, 1 = a perfect white at the table's origin.
/// `footprint` is the pixel's size on the table (mm), over which patterns are averaged.
Colour radiance(const Surfaces& surfaces, const Hit& hit, double footprint, const Candidates& among);

}  // namespace chalkfold::demo
