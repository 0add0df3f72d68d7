// SPDX-License-Identifier: Apache-2.0
#include "tests/bench/layout_bench.h"

#include <ctime>
#include <numbers>

#include "tests/draft/laid_set.h"

namespace chalkfold::bench {
namespace {

/// CPU seconds; `share` becomes what part of the roll is pieces.
double seconds_to_lay(const std::vector<draft::RollPiece>& pieces, double& share) {
  const std::clock_t start = std::clock();
  share = draft::roll_layout(pieces).share();
  return static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
}

}  // namespace

LayoutTiming bench_layout() {
  constexpr double quarter = std::numbers::pi / 2;
  const auto two = drawn::laid_set({0, 2 * quarter}), four = drawn::laid_set({0, quarter, 2 * quarter, 3 * quarter});
  LayoutTiming timing;
  timing.pieces = static_cast<int>(two.size());
  timing.straight = seconds_to_lay(two, timing.straight_share);
  timing.quarter_turns = seconds_to_lay(four, timing.quarter_share);
  return timing;
}

}  // namespace chalkfold::bench
