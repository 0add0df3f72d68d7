// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <functional>
#include <mutex>
#include <string>

#include "pipeline/job/plan/run_options.h"
#include "pipeline/job/stages/progress.h"

namespace chalkfold::job {

/// Begins a stretch of progress and ends it, come what may. Threads may advance it together.
class Stretch {
 public:
  Stretch(Progress& progress, const std::string& what, std::size_t total) : progress_(progress) {
    progress_.begin(what, total);
  }
  ~Stretch() { progress_.end(); }
  Stretch(const Stretch&) = delete;
  Stretch& operator=(const Stretch&) = delete;
  void advance(const std::string& item) {
    const std::lock_guard lock(mutex_);
    progress_.advance(item);
  }

 private:
  Progress& progress_;
  std::mutex mutex_;
};

/// Those the options ask for; else as many as there are cores.
int threads_in_force(const RunOptions& options);

/// Does the work for every number below `count`, one number a task, so that no more than `threads` of them are in memory. What a piece of work
/// throws leaves it when all below it are done, and ends the others: of several, that of the least number.
void for_each_number(std::size_t count, int threads, const std::function<void(std::size_t)>& work);

}  // namespace chalkfold::job
