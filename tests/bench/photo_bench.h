// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace chalkfold::bench {

struct BenchOptions {
  std::filesystem::path photo;
  std::filesystem::path scratch;  ///< folder for the files that the output stage writes
  double thickness = 1.2;         ///< mm, of the panels in the photo
  int rounds = 7;                 ///< every stage is timed so many times; the median counts
  int grabcut_rounds = 1;         ///< the same for the comparison, which takes minutes; 0 leaves it out
};

/// One line of the table.
struct Timing {
  std::string stage;
  double seconds =
      0;  ///< median, CPU time of the whole process: one thread is asked for, and one that starts others pays for them
};

struct BenchResult {
  int width = 0, height = 0, sheets = 0, panels = 0;
  double decode = 0;           ///< s, cv::imdecode of the same file, the unit of all ratios
  std::vector<Timing> stages;  ///< in running order
  Timing whole;                ///< run_job on this photo, everything included
  double peak_mb = 0;          ///< most memory that the process had held when decode, stages and whole were done
  Timing grabcut;              ///< cv::grabCut at full size, 5 iterations; empty stage name when left out
  double peak_with_grabcut_mb = 0;
};

/// Times every stage on one thread. Throws FileError when the photo cannot be read or the files not be written, std::runtime_error when it is refused
/// or shows no panel.
BenchResult bench_photo(const BenchOptions& options);

}  // namespace chalkfold::bench
