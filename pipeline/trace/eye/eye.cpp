// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/eye/eye.h"

#include "pipeline/trace/eye/eye_network.h"
#include "pipeline/trace/eye/eye_weights.h"

namespace chalkfold::trace {

EyeMaps look(const EyeInput& input) {
  static const EyeNetwork network(built_in_eye());
  return probabilities(network.half_size_logits(encoded(input), input.mm_per_px), input.code.size());
}

}  // namespace chalkfold::trace
