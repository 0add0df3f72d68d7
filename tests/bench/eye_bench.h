// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace chalkfold::bench {

struct EyeTiming {
  int width = 0, height = 0;
  /// s of CPU time of one pass, one thread, median; the first, which reads the weights and takes the memory, does not count
  double seconds = 0;
  /// by which the first pass raised the most that the process had held: only of meaning in a process that has done little before
  double memory_mb = 0;
};

/// One look of the network at a table picture of 1024 x 704 px, the size that segmentation makes.
EyeTiming bench_eye(int rounds);

}  // namespace chalkfold::bench
