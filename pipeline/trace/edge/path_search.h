// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

namespace chalkfold::trace {

/// A way through rows that are laid in a circle, one column a row.
struct RingPath {
  std::vector<int> columns;
  /// columns, 1 standard deviation: how far off the ways lie that are nearly as cheap and more than `beyond` columns aside
  std::vector<double> spread;
};

/// Cheapest circular way through `costs` (rows x columns, nats, row by row), with a quadratic charge for steps from row to row: dynamic programming twice
/// round, of which the middle is kept (A. Viterbi, 1967). The spread of each row is that of the cheapest ways through every one of its columns (min-marginals,
/// from a forward and a backward pass), each weighed by exp(-excess / `temperature`). Neighbouring costs share light, grain and blur, so that a nat of the sum
/// is worth less than one: `temperature`, nats, is how much less.
RingPath cheapest_ring(const std::vector<float>& costs, int rows, int columns, int beyond, double temperature);

}  // namespace chalkfold::trace
