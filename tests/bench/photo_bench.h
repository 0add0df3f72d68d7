// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace chalkfold::bench {

struct BenchOptions {
  std::filesystem::path photo;
  /// folder for the files that the output stage writes
  std::filesystem::path scratch;
  /// mm, of the panels in the photo
  double thickness = 1.2;
  /// every stage is timed so many times; the median counts
  int rounds = 7;
  /// the same for the comparison, which takes minutes; 0 leaves it out
  int grabcut_rounds = 1;
};

/// One line of the table.
struct Timing {
  std::string stage;
  /// median, CPU time of the whole process: one thread is asked for, and one that starts others pays for them
  double seconds = 0;
};

struct BenchResult {
  int width = 0, height = 0, sheets = 0, panels = 0;
  /// s, cv::imdecode of the same file, the unit of all ratios
  double decode = 0;
  /// in running order
  std::vector<Timing> stages;
  /// run_job on this photo, everything included
  Timing whole;
  /// most memory that the process had held when decode, stages and whole were done
  double peak_mb = 0;
  /// cv::grabCut at full size, 5 iterations; empty stage name when left out
  Timing grabcut;
  double peak_with_grabcut_mb = 0;
};

/// Times every stage on one thread. Throws FileError when the photo cannot be read or the files not be written, std::runtime_error when it is refused
/// or shows no panel.
BenchResult bench_photo(const BenchOptions& options);

}  // namespace chalkfold::bench
