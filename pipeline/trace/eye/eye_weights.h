// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <string_view>

namespace chalkfold::trace {

/// A trained network as demo/train/export.py writes it.
struct EyeWeights {
  /// NAME.json: nodes in running order
  std::string_view header;
  /// NAME.f32: the numbers of all layers
  std::span<const float> numbers;
};

/// The network that this program was built with.
EyeWeights built_in_eye();

}  // namespace chalkfold::trace
