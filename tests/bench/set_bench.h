// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace chalkfold::bench {

struct SetTiming {
  int pieces = 0, seams = 0;
  /// CPU time of adjust_set, one thread, pieces drafted anew included
  double adjust_seconds = 0;
  /// of propose_seams for the same pieces without any seam given
  double propose_seconds = 0;
  /// mm, that a seam misses afterwards
  double worst = 0;
};

/// A made-up set of strips and blocks in a grid, sewn to their neighbours, each worn its own way. Throws std::runtime_error when it
/// cannot be adjusted.
SetTiming bench_set();

}  // namespace chalkfold::bench
