// SPDX-License-Identifier: Apache-2.0
#include "tools/stop_signal.h"

#include <unistd.h>

#include <atomic>
#include <csignal>
#include <string_view>

namespace chalkfold::tools {
namespace {

std::atomic<int> came{0};  // the signal's number; 0: none
static_assert(std::atomic<int>::is_always_lock_free);

extern "C" void on_signal(int number) {
  came = number;
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

bool stop_signalled() { return came != 0; }

ExitCode stopped_exit_code() { return came == SIGTERM ? ExitCode::terminated : ExitCode::interrupted; }

}  // namespace chalkfold::tools
