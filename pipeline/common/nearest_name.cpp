// SPDX-License-Identifier: Apache-2.0
#include "pipeline/common/nearest_name.h"

#include <algorithm>

namespace chalkfold {

namespace {
char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }
bool same(char a, char b) { return lower(a) == lower(b); }
}  // namespace

std::size_t edit_distance(std::string_view a, std::string_view b) {
  // Three rows of the table are enough: a swap looks back two rows.
  std::vector<std::size_t> before(b.size() + 1), last(b.size() + 1), row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t change = last[j - 1] + (same(a[i - 1], b[j - 1]) ? 0 : 1);
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, change});
      const bool swapped = i > 1 && j > 1 && same(a[i - 1], b[j - 2]) && same(a[i - 2], b[j - 1]);
      if (swapped) row[j] = std::min(row[j], before[j - 2] + 1);
    }
    before.swap(last);
    last.swap(row);
  }
  return last[b.size()];
}

std::string nearest_name(std::string_view given, const std::vector<std::string>& known) {
  std::string best;
  std::size_t best_distance = 0;
  for (const std::string& name : known) {
    const std::size_t distance = edit_distance(given, name);
    if (2 * distance > std::max(given.size(), name.size())) continue;
    if (best.empty() || distance < best_distance) {
      best = name;
      best_distance = distance;
    }
  }
  return best;
}

}  // namespace chalkfold
