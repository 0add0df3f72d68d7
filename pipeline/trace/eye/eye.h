// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/trace/eye/eye_input.h"
#include "pipeline/trace/eye/eye_maps.h"

namespace chalkfold::trace {

/// What a network, trained on made-up tables (demo/train), takes every pixel for. May be called from several threads at a time; inside a call it uses as
/// many as cv::getNumThreads() says. The same bytes whatever the number of threads and whatever the processor. About 65 bytes a pixel of
/// memory while it runs, the maps with it.
EyeMaps look(const EyeInput& input);

}  // namespace chalkfold::trace
