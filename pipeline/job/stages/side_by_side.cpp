// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/side_by_side.h"

#include <tbb/blocked_range.h>
#include <tbb/global_control.h>
#include <tbb/parallel_for.h>
#include <tbb/task_arena.h>

#include <algorithm>
#include <atomic>
#include <exception>
#include <thread>
#include <vector>

namespace chalkfold::job {

int threads_in_force(const RunOptions& options) {
  if (options.threads > 0) return options.threads;
  return std::max(1, static_cast<int>(std::thread::hardware_concurrency()));
}

void for_each_number(std::size_t count, int threads, const std::function<void(std::size_t)>& work) {
  // Without this TBB starts no more threads than there are cores, and complains on stderr.
  const tbb::global_control allowed(tbb::global_control::max_allowed_parallelism, static_cast<std::size_t>(threads));
  tbb::task_arena arena(threads);
  std::vector<std::exception_ptr> thrown(count);
  std::atomic<std::size_t> least{count};  // number that threw
  arena.execute([&] {
    tbb::parallel_for(
        tbb::blocked_range<std::size_t>(0, count, 1),
        [&](const tbb::blocked_range<std::size_t>& range) {
          for (std::size_t i = range.begin(); i < range.end(); ++i) {
            if (i > least) continue;
            try {
              work(i);
            } catch (...) {
              thrown[i] = std::current_exception();
              for (std::size_t known = least; i < known && !least.compare_exchange_weak(known, i);) continue;
            }
          }
        },
        tbb::simple_partitioner());
  });
  if (least < count) std::rethrow_exception(thrown[least]);
}

}  // namespace chalkfold::job
