// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "pipeline/common/fault.h"
#include "pipeline/draft/piece/piece.h"
#include "pipeline/draft/set/seam_asked.h"
#include "pipeline/draft/set/seam_side.h"

namespace chalkfold::draft {

/// A net length: arc length of the sew line of a run of edges.
struct SeamLength {
  /// mm
  double length = 0;
  /// mm (k = 2); see seam_length
  double U = 0;
};

/// Side by side, what lies between two neighbouring marks (or an end and a mark) of both sides, in the way of travel of side a.
struct SeamInterval {
  /// the mark at its end, as SeamSide counts them along the whole run; 0: the seam's end
  int mark_a = 0, mark_b = 0;
  /// mm
  double a = 0, b = 0;
  /// mm, its share of the ease
  double wanted = 0;
  /// mm
  double tolerance = 0;
  double difference() const { return a - b; }
  bool meets() const { return std::abs(a - b - wanted) <= tolerance; }
};

enum class SeamVerdict {
  /// equal within the tolerance, as wanted
  meets,
  /// as different as the ease asks, within the tolerance
  eased,
  /// neither
  does_not_meet,
};

/// What is known of one seam. `difference` is a - b.
struct SeamReport {
  /// its `run` is against or with: the one that was taken
  SeamAsked asked;
  SeamLength a, b;
  /// mm, mm (k = 2)
  double difference = 0, U_difference = 0;
  /// mm, that the difference may depart from the ease
  double tolerance = 0;
  SeamVerdict verdict = SeamVerdict::does_not_meet;
  /// one more than marks that were paired; one alone when there are none
  std::vector<SeamInterval> intervals;
  /// marks without a partner on the other side
  std::vector<int> unpaired_marks_a, unpaired_marks_b;
  /// what decided `asked.run`
  enum class RunBy { job, marks, sides } run_by = RunBy::sides;
  /// by the program; never used for adjustment
  bool proposed = false;
  /// of a proposal, 0..1
  double confidence = 1;
  /// all intervals between marks do, and no marks are left over on both sides
  bool marks_meet() const;
};

/// "meets", "eased", "does not meet".
std::string to_string(SeamVerdict verdict);

struct SeamOptions {
  /// mm, ...
  double tolerance = 2;
  /// ... or this share of the longer side, whichever is larger; at least U of the difference
  double tolerance_share = 0.003;
  /// mm, that an interval between marks may depart; common practice, no source
  double mark_tolerance = 2;
  /// mm, of a mark's place along its edge: as found in a photo, 0.5 mm
  double mark_sigma = 0.5;
  /// share, of all lengths together: sheets whose bars were measured, or the survey's own figure
  double scale_sigma = 0.0003;
  /// all pieces were measured with the same sheets: their common scale does not make them differ
  bool one_scale = true;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const SeamOptions& options);

/// Net length of a side. Its U (k = 2) is made of how well its two ends are known along it, and of the scale: an end on a corner
/// moves along the edge by (u_neighbour^2 + u_own^2 cos^2 t)^1/2 / sin t, where u = U / 2 of either edge across itself and t is the
/// corner's turn (sin t no less than 0.25); an end on a mark by `mark_sigma`; all of it by `scale_sigma` of the length. What the edge
/// wavers between its ends lengthens it in second order only and is not counted. Precondition: find_fault(side, pieces) is none.
SeamLength seam_length(const SeamSide& side, const std::vector<Piece>& pieces, const SeamOptions& options = {});

/// Why a side cannot be had from these pieces: no such piece (the nearest name is told), refused piece, no such edge, no such mark.
std::optional<Fault> find_fault(const SeamAsked& seam, const std::vector<Piece>& pieces);

/// Both sides of a seam compared. Precondition: find_fault is none.
/// Marks are paired in order, so that the intervals agree best; a mark with no partner within a tenth of the seam is left over.
SeamReport compare_sides(const SeamAsked& seam, const std::vector<Piece>& pieces, const SeamOptions& options = {});

/// An edge that no seam of the job takes.
struct UnpairedEdge {
  std::string piece;
  int edge = 1;
  /// mm
  double length = 0;
};

/// In the order of the pieces and edges. A part of an edge counts as the edge.
std::vector<UnpairedEdge> unpaired_edges(const std::vector<SeamAsked>& seams, const std::vector<Piece>& pieces);

/// How far the adjustment moved one piece.
struct PieceMoves {
  std::string piece;
  /// the job keeps it as it is
  bool fixed = false;
  /// mm, of its sew line's points, rigid motion removed
  double rms = 0, largest = 0;
  /// points of the unadjusted sew line, closed, and how far each was moved: for the picture
  Polyline before, moves;
  /// mm, net lengths in the order of its edges
  std::vector<double> edge_before, edge_after;
};

/// Everything that was found out about a set of pieces. Seams that cannot be had are left out and told of in `faults`.
struct SetReport {
  /// of the job, as the unadjusted pieces are
  std::vector<SeamReport> seams;
  /// the same seams after adjustment; empty when there was none
  std::vector<SeamReport> after;
  /// surest first
  std::vector<SeamReport> proposals;
  /// by the job's seams
  std::vector<UnpairedEdge> unpaired;
  /// `moves` and `after` are there
  bool adjusted = false;
  /// why there was no adjustment
  std::string reason;
  /// a piece each, in their order
  std::vector<PieceMoves> moves;
  Faults faults;
};

}  // namespace chalkfold::draft
