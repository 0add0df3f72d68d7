// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/trace/edge/light.h"

namespace chalkfold::trace {

/// What one panel's boundary told of the light on the table, and the light learnt from it alone.
struct HeardLight {
  /// models as bare_model gives them
  std::vector<LightWitness> witnesses;
  TableLight light;
};

/// The panels of a photo lie under one lamp. Where the lights that were learnt from them one by one contradict each other, the one that explains the
/// boundaries of all best, for every panel that it explains nearly as well as its own; nothing where a panel's own light stands: a lamp
/// near the table throws its shadows this way and that. One for each panel.
std::vector<std::optional<TableLight>> agreed_lights(const std::vector<HeardLight>& panels);

}  // namespace chalkfold::trace
