// SPDX-License-Identifier: Apache-2.0
#include "tools/stop_signal.h"

#include <unistd.h>

#include <atomic>
#include <csignal>
#include <string_view>

namespace chalkfold::tools {
namespace {

std::atomic<bool> stop{false};
static_assert(std::atomic<bool>::is_always_lock_free);

extern "C" void on_signal(int) {
  stop = true;
  constexpr std::string_view words =
      "\nchalkfold: stopping once the photos in work are done; once more stops at once\n";
  // Nothing can be done here when stderr is closed.
  [[maybe_unused]] const auto written = ::write(STDERR_FILENO, words.data(), words.size());
}

}  // namespace

void listen_for_stop() {
  struct sigaction action {};
  action.sa_handler = on_signal;
  action.sa_flags = SA_RESETHAND | SA_RESTART;  // the second signal finds the default again
  sigemptyset(&action.sa_mask);
  ::sigaction(SIGINT, &action, nullptr);
  ::sigaction(SIGTERM, &action, nullptr);
}

bool stop_signalled() { return stop; }

}  // namespace chalkfold::tools
