// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace chalkfold::draft {

/// One side of a seam: edges of a piece in a row, counter-clockwise, or the part of them between two marks.
/// Written PIECE/EDGE, PIECE/FIRST-LAST (wraps round: 4-2 of a piece of five edges is 4, 5, 1, 2; on the mirrored piece of a pair,
/// whose numbers run backwards, the same run is 2-4: 2, 1, 5, 4), either followed by :FROM-TO for a part, and by " mirrored" for the
/// mirror image of a piece that is cut twice: "cushion top/2", "edge strip/1-4", "cushion top/2:1-3", "cushion top/2:start-1",
/// "bolster/3 mirrored".
struct SeamSide {
  std::string piece;
  int first_edge = 1, last_edge = 1;
  /// Marks that bound the part, counted 1, 2, ... along the run of edges; marks drawn together (a double mark) count as one, at
  /// their middle. None: the run's own start, or end.
  std::optional<int> from_mark, to_mark;
  bool mirrored = false;
};

/// Reads a side as written above. Throws UsageError that says what is wrong and how a side is written.
SeamSide read_seam_side(std::string_view text);

/// As read_seam_side reads it.
std::string to_text(const SeamSide& side);

}  // namespace chalkfold::draft
