// SPDX-License-Identifier: Apache-2.0
#include "tools/terminal_progress.h"

#include <fmt/format.h>

#include <algorithm>

#include "pipeline/common/utf8.h"

namespace chalkfold {

namespace {
constexpr std::size_t bar_cells = 30;
}

void TerminalProgress::begin(const std::string& what, std::size_t total) {
  what_ = what;
  total_ = total;
  done_ = 0;
  if (on_terminal_) draw_bar();
}

void TerminalProgress::advance(const std::string& item) {
  ++done_;
  if (on_terminal_) {
    draw_bar();
  } else {
    fmt::print(stream_, "{} {}/{}: {}\n", what_, done_, total_, plain_text(item));
  }
}

void TerminalProgress::end() {
  if (on_terminal_) fmt::print(stream_, "\n");
}

void TerminalProgress::draw_bar() const {
  const std::size_t full = total_ > 0 ? bar_cells * done_ / total_ : bar_cells;
  fmt::print(stream_, "\r{:<17} [{}{}] {}/{}", what_, std::string(full, '#'), std::string(bar_cells - full, '.'), done_,
             total_);
  std::fflush(stream_);
}

}  // namespace chalkfold
