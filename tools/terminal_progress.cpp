// SPDX-License-Identifier: Apache-2.0
#include "tools/terminal_progress.h"

#include <fmt/format.h>

#include <algorithm>

#include "pipeline/common/utf8.h"

namespace chalkfold::tools {

namespace {
constexpr std::size_t bar_cells = 30;

/// So that the bar stays in one line.
std::string short_name(const std::string& item) {
  constexpr std::size_t most = 24;
  const std::u32string letters = code_points(item);
  return letters.size() <= most ? item : utf8_from(letters.substr(0, most - 3)) + "...";
}
}  // namespace

std::string TerminalProgress::time_left() const {
  constexpr std::size_t fewest = 2;   // items: the first may have waited for the others' start
  constexpr double worth_saying = 5;  // s
  if (done_ < fewest || done_ >= total_) return "";
  const double gone = std::chrono::duration<double>(std::chrono::steady_clock::now() - begun_).count();
  const double left = gone / static_cast<double>(done_) * static_cast<double>(total_ - done_);
  if (left < worth_saying) return "";
  return left < 90 ? fmt::format(", about {:.0f} s left", left) : fmt::format(", about {:.0f} min left", left / 60);
}

void TerminalProgress::begin(const std::string& what, std::size_t total) {
  what_ = what;
  total_ = total;
  done_ = 0;
  item_.clear();
  begun_ = std::chrono::steady_clock::now();
  if (on_terminal_) draw_bar();
}

void TerminalProgress::advance(const std::string& item) {
  ++done_;
  item_ = plain_text(item);
  if (on_terminal_) {
    draw_bar();
  } else {
    fmt::print(stream_, "{} {}/{}: {}{}\n", what_, done_, total_, item_, time_left());
  }
}

void TerminalProgress::end() {
  if (on_terminal_) fmt::print(stream_, "\n");
}

void TerminalProgress::draw_bar() const {
  const std::size_t full = total_ > 0 ? bar_cells * done_ / total_ : bar_cells;
  // The line may have been longer before: it is cleared to its end.
  fmt::print(stream_, "\r{:<17} [{}{}] {}/{} {}{}\033[K", what_, std::string(full, '#'),
             std::string(bar_cells - full, '.'), done_, total_, short_name(item_), time_left());
  std::fflush(stream_);
}

}  // namespace chalkfold::tools
