// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cmath>
#include <vector>

namespace chalkfold::demo {

/// Linear light (1 = white) to sRGB codes, 0 to 255, by table: 8 bits need no finer steps than these.
class ToneTable {
 public:
  ToneTable() : coded_(steps + 2) {
    for (int i = 0; i <= steps + 1; ++i) {
      const float v = static_cast<float>(i) / steps;
      coded_[static_cast<std::size_t>(i)] =
          255 * (v <= 0.0031308F ? 12.92F * v : 1.055F * std::pow(v, 1 / 2.4F) - 0.055F);
    }
  }
  float operator()(float v) const {
    const float at = std::clamp(v, 0.0F, 1.0F) * steps;
    const auto i = static_cast<std::size_t>(at);
    return coded_[i] + (at - static_cast<float>(i)) * (coded_[i + 1] - coded_[i]);
  }

 private:
  static constexpr int steps = 8192;
  std::vector<float> coded_;
};

}  // namespace chalkfold::demo
