// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdio>

#include "pipeline/job/progress.h"

namespace chalkfold {

/// Progress on a stream: a bar that redraws itself on a terminal, one plain line an item otherwise.
class TerminalProgress : public Progress {
 public:
  TerminalProgress(std::FILE* stream, bool on_terminal) : stream_(stream), on_terminal_(on_terminal) {}
  void begin(const std::string& what, std::size_t total) override;
  void advance(const std::string& item) override;
  void end() override;

 private:
  void draw_bar() const;

  std::FILE* stream_;
  bool on_terminal_;
  std::string what_;
  std::size_t total_ = 0, done_ = 0;
};

}  // namespace chalkfold
