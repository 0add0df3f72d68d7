// SPDX-License-Identifier: Apache-2.0
#include "tests/bench/set_bench.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <ctime>
#include <stdexcept>

#include "pipeline/draft/set/seam_proposals.h"
#include "pipeline/draft/set/set_adjustment.h"
#include "tests/draft/sewn_set.h"

namespace chalkfold::bench {
namespace {

constexpr int columns = 8, rows = 5;
constexpr int most_seams = 60;
constexpr double cell = 300;  // mm

double cpu_seconds() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

std::string name_of(int column, int row) { return fmt::format("block {}-{}", column + 1, row + 1); }

/// A block whose edges bulge into its neighbours', each stretched by up to 2 %.
draft::Piece block(int column, int row) {
  const double bulge = 6;
  const drawn::Design design{name_of(column, row),
                             {{0, 0}, {cell, 0}, {cell, cell}, {0, cell}},
                             {bulge, bulge, -bulge, -bulge},
                             {{100}, {120, 220}, {cell - 100}, {cell - 220, cell - 120}}};
  drawn::Worn worn;
  worn.stretch = 0.004 * ((3 * column + 5 * row) % 6);
  worn.direction = column % 2 == 0 ? 0 : 0.5 * std::numbers::pi;
  worn.noise = 0.1;
  worn.seed = static_cast<std::uint32_t>(10 * row + column + 1);
  return draft::draft_piece(drawn::worn_panel(design, worn), drawn::on_the_seam());
}

}  // namespace

SetTiming bench_set() {
  std::vector<draft::Piece> pieces;
  std::vector<draft::SeamAsked> seams;
  for (int row = 0; row < rows; ++row)
    for (int column = 0; column < columns; ++column) pieces.push_back(block(column, row));
  const auto add = [&](const std::string& a, const std::string& b) {
    if (static_cast<int>(seams.size()) < most_seams)
      seams.push_back(drawn::seam(static_cast<int>(seams.size()) + 1, a, b));
  };
  for (int row = 0; row < rows; ++row)
    for (int column = 0; column < columns; ++column) {
      if (column + 1 < columns) add(name_of(column, row) + "/2", name_of(column + 1, row) + "/4");
      if (row + 1 < rows) add(name_of(column, row) + "/3", name_of(column, row + 1) + "/1");
    }
  draft::AdjustOptions options;
  options.move_limit = 20;
  SetTiming timing;
  timing.pieces = static_cast<int>(pieces.size());
  timing.seams = static_cast<int>(seams.size());
  double start = cpu_seconds();
  const draft::AdjustedSet set = draft::adjust_set(pieces, seams, options);
  timing.adjust_seconds = cpu_seconds() - start;
  if (!set.report.adjusted)
    throw std::runtime_error("the set was not adjusted: " +
                             (set.report.faults.empty() ? set.report.reason : set.report.faults[0].seen));
  for (const draft::SeamReport& seam : set.report.after)
    timing.worst = std::max(timing.worst, std::abs(seam.difference));
  start = cpu_seconds();
  draft::propose_seams({}, pieces);
  timing.propose_seconds = cpu_seconds() - start;
  return timing;
}

}  // namespace chalkfold::bench
