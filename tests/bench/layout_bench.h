// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace chalkfold::bench {

struct LayoutTiming {
  int pieces = 0;
  /// s of CPU time, lying two ways along the roll
  double straight = 0;
  /// s, lying four ways
  double quarter_turns = 0;
  /// of the roll that is pieces
  double straight_share = 0, quarter_share = 0;
};

/// Lays the ten pieces of tests/draft/laid_set.h on a roll of 1400 mm.
LayoutTiming bench_layout();

}  // namespace chalkfold::bench
