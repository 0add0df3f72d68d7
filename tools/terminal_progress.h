// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <cstdio>

#include "pipeline/job/stages/progress.h"
#include "tools/stop_signal.h"

namespace chalkfold::tools {

/// Progress on a stream: a bar that redraws itself on a terminal, one plain line an item otherwise; with the time left, once it can be told from the items done.
class TerminalProgress : public job::Progress {
 public:
  TerminalProgress(std::FILE* stream, bool on_terminal) : stream_(stream), on_terminal_(on_terminal) {}
  void begin(const std::string& what, std::size_t total) override;
  void advance(const std::string& item) override;
  void end() override;
  bool stop_wanted() const override { return stop_signalled(); }

 private:
  void draw_bar() const;
  std::string time_left() const;

  std::FILE* stream_;
  bool on_terminal_;
  std::string what_, item_;
  std::size_t total_ = 0, done_ = 0;
  std::chrono::steady_clock::time_point begun_;
};

/// Says nothing (`--quiet`), but can be stopped.
class QuietProgress : public job::NoProgress {
 public:
  bool stop_wanted() const override { return stop_signalled(); }
};

}  // namespace chalkfold::tools
