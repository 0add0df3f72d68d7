// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <vector>

namespace chalkfold::bench {

struct BatchTiming {
  int photos = 0, threads = 1;
  /// wall clock, of the whole program
  double seconds = 0;
  /// of all its threads
  double cpu_seconds = 0;
  /// resident
  double peak_mb = 0;
};

/// One run of the program in a process of its own over `photos` copies of one photo, each made a file of its own by a byte after the picture's end,
/// into a new folder. Throws std::runtime_error when it fails.
BatchTiming bench_batch(const std::filesystem::path& photo, double thickness, const std::filesystem::path& scratch,
                        int photos, int threads);

}  // namespace chalkfold::bench
