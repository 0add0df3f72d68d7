// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/put_back.h"

#include <algorithm>
#include <utility>

#include "pipeline/common/require.h"

namespace chalkfold::draft {
namespace {

bool same(const Fault& a, const Fault& b) {
  return a.code == b.code && a.seen == b.seen && a.photo == b.photo && a.panel == b.panel;
}

/// Those of the moved piece that the drafted one does not have.
Faults new_faults(const Piece& moved, const Piece& drafted) {
  Faults out;
  for (const Fault& fault : moved.faults)
    if (std::none_of(drafted.faults.begin(), drafted.faults.end(), [&](const Fault& f) { return same(f, fault); }))
      out.push_back(fault);
  return out;
}

void forget_moves(PieceMoves& moves) {
  moves.rms = moves.largest = 0;
  std::fill(moves.moves.begin(), moves.moves.end(), Vec2::Zero());
  moves.edge_after = moves.edge_before;
}

}  // namespace

void put_back(AdjustedSet& set, const std::vector<Piece>& drafted, std::size_t piece, Faults why,
              const SeamOptions& options) {
  require_equal("drafted pieces", drafted.size(), set.pieces.size());
  require_index("piece", piece, drafted.size());
  set.pieces[piece] = drafted[piece];
  for (PieceMoves& moves : set.report.moves)
    if (moves.piece == drafted[piece].name) forget_moves(moves);
  for (SeamReport& after : set.report.after) {
    const auto run_by = after.run_by;
    after = compare_sides(after.asked, set.pieces, options);
    after.run_by = run_by;
  }
  for (Fault& fault : why) {
    fault.seen +=
        " This came with the adjustment to its seams: beside the adjusted pieces it stands as it was drafted.";
    set.report.faults.push_back(std::move(fault));
  }
}

void tell_moved(AdjustedSet& set, const std::vector<Piece>& drafted, const SeamOptions& options) {
  for (std::size_t i = 0; i < drafted.size(); ++i) {
    Faults faults = new_faults(set.pieces[i], drafted[i]);
    if (has_refusal(faults))
      put_back(set, drafted, i, std::move(faults), options);
    else
      set.report.faults.insert(set.report.faults.end(), faults.begin(), faults.end());
  }
}

}  // namespace chalkfold::draft
