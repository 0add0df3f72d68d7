// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/draft/piece/piece.h"
#include "pipeline/draft/set/seam_asked.h"

namespace chalkfold::draft {

/// Marks at one place of a run: a single mark, or those drawn together.
struct RunMark {
  /// 1, 2, ... along the whole run, as SeamSide counts them
  int number = 0;
  /// mm from the part's start; their middle
  double along = 0;
  /// indices in the piece's marks
  std::vector<std::size_t> marks;
};

/// A side of a seam laid out along its piece, counter-clockwise.
struct EdgeRun {
  std::size_t piece = 0;
  /// indices in the piece's edges, in the way of travel
  std::vector<std::size_t> edges;
  /// mm, where each begins on the run
  std::vector<double> starts;
  /// mm on the run: the part
  double from = 0, to = 0;
  /// the whole of a piece with a single edge, or all its edges: its ends are no corners of it
  bool closed = false;
  /// inside the part
  std::vector<RunMark> marks;
  /// of the whole run, `along` from its start
  std::vector<RunMark> all_marks;
  double length() const { return to - from; }
};

/// Nearer than this to an end of the run a mark marks the corner itself, and no interval is made of it.
inline constexpr double least_interval = 3;  // mm

/// Nothing when there is no such piece, edge or mark.
std::optional<EdgeRun> edge_run(const SeamSide& side, const std::vector<Piece>& pieces);

/// Index of the piece of a name; nothing when there is none.
std::optional<std::size_t> index_of(const std::string& name, const std::vector<Piece>& pieces);

/// Marks of both sides that are to meet: indices in the runs' `marks`, in the way of travel of a.
struct MatchedMarks {
  std::vector<std::pair<std::size_t, std::size_t>> pairs;
  /// mm: how far the pairs miss each other, and half the reach for each mark left over
  double cost = 0;
};

/// The least cost in order (dynamic programming), b scaled to the length of a. `with`: b is travelled counter-clockwise too.
MatchedMarks match_marks(const EdgeRun& a, const EdgeRun& b, bool with);

/// Position of a mark of side b counted from the end at which side a starts.
double along_seam(const EdgeRun& b, const RunMark& mark, bool with);

/// How side b is travelled when neither the job nor the marks say: see SeamRun.
SeamRun run_by_sides(const SeamAsked& seam, const EdgeRun& a, const EdgeRun& b, const std::vector<Piece>& pieces);

}  // namespace chalkfold::draft
