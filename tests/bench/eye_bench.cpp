// SPDX-License-Identifier: Apache-2.0
#include "tests/bench/eye_bench.h"

#include <sys/resource.h>

#include <algorithm>
#include <ctime>
#include <opencv2/core.hpp>
#include <opencv2/core/utility.hpp>
#include <vector>

#include "pipeline/trace/eye/eye.h"

namespace chalkfold::bench {
namespace {

double peak_mb() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_maxrss) * 1024 / 1e6;  // Linux counts it in KiB
}

/// Noise: what is seen makes no difference to the time.
trace::EyeInput noise(const cv::Size& size) {
  trace::EyeInput input;
  input.code.create(size, CV_8UC3);
  cv::RNG(1).fill(input.code, cv::RNG::UNIFORM, 0, 256);
  for (cv::Mat* mask : {&input.known, &input.ink, &input.unseen}) *mask = cv::Mat::zeros(size, CV_8U);
  input.known(cv::Rect(100, 100, 200, 150)) = 255;
  input.mm_per_px = 1.3;
  return input;
}

}  // namespace

EyeTiming bench_eye(int rounds) {
  cv::setNumThreads(1);
  EyeTiming out;
  out.width = 1024;
  out.height = 704;
  const trace::EyeInput input = noise({out.width, out.height});
  const double before = peak_mb();
  trace::look(input);
  out.memory_mb = peak_mb() - before;
  std::vector<double> laps;
  for (int round = 0; round < rounds; ++round) {
    const std::clock_t start = std::clock();
    trace::look(input);
    laps.push_back(static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC);
  }
  const auto middle = laps.begin() + static_cast<std::ptrdiff_t>(laps.size() / 2);
  std::nth_element(laps.begin(), middle, laps.end());
  out.seconds = *middle;
  return out;
}

}  // namespace chalkfold::bench
