// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "pipeline/common/fault.h"
#include "pipeline/draft/piece.h"

namespace chalkfold {

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

/// How side b is travelled while side a is travelled counter-clockwise.
enum class SeamRun {
  automatic,  ///< as the marks tell, or else against when both are drawn same side up and neither is mirrored
  against,    ///< clockwise: two pieces drawn same side up and laid beside each other along their seam
  with,       ///< counter-clockwise: one of them is drawn face up or used mirrored
};

/// Where in the order of sewing a seam comes; common practice, no source.
enum class SewingGroup { centre, sides, sides_to_centre, closing, edge_strip };

/// A seam as the job asks for it, or as it is proposed.
struct SeamAsked {
  int number = 0;  ///< of the job, or counted on from it
  SeamSide a, b;
  double ease = 0;  ///< mm, by which a is to be longer than b, spread evenly between the marks
  SeamRun run = SeamRun::automatic;
  std::optional<SewingGroup> group;  ///< none: for the sewing sheet to decide
  std::optional<int> order;          ///< place in the order of sewing; none: as the group says, then by number
  bool fit_on_seat = false;          ///< try the cover on before this seam is sewn
  std::string note;                  ///< for the sewing sheet
};

/// A net length: arc length of the sew line of a run of edges.
struct SeamLength {
  double length = 0;  ///< mm
  double U = 0;       ///< mm (k = 2); see seam_length
};

/// Side by side, what lies between two neighbouring marks (or an end and a mark) of both sides, in the way of travel of side a.
struct SeamInterval {
  int mark_a = 0, mark_b = 0;  ///< the mark at its end, as SeamSide counts them along the whole run; 0: the seam's end
  double a = 0, b = 0;         ///< mm
  double wanted = 0;           ///< mm, its share of the ease
  double tolerance = 0;        ///< mm
  double difference() const { return a - b; }
  bool meets() const { return std::abs(a - b - wanted) <= tolerance; }
};

enum class SeamVerdict {
  meets,          ///< equal within the tolerance, as wanted
  eased,          ///< as different as the ease asks, within the tolerance
  does_not_meet,  ///< neither
};

/// What is known of one seam. `difference` is a - b.
struct SeamReport {
  SeamAsked asked;  ///< its `run` is against or with: the one that was taken
  SeamLength a, b;
  double difference = 0, U_difference = 0;  ///< mm, mm (k = 2)
  double tolerance = 0;                     ///< mm, that the difference may depart from the ease
  SeamVerdict verdict = SeamVerdict::does_not_meet;
  std::vector<SeamInterval> intervals;  ///< one more than marks that were paired; one alone when there are none
  std::vector<int> unpaired_marks_a, unpaired_marks_b;           ///< marks without a partner on the other side
  enum class RunBy { job, marks, sides } run_by = RunBy::sides;  ///< what decided `asked.run`
  bool proposed = false;                                         ///< by the program; never used for adjustment
  double confidence = 1;                                         ///< of a proposal, 0..1
  bool marks_meet() const;  ///< all intervals between marks do, and no marks are left over on both sides
};

/// "meets", "eased", "does not meet".
std::string to_string(SeamVerdict verdict);

struct SeamOptions {
  double tolerance = 2;  ///< mm, ...
  double tolerance_share =
      0.003;  ///< ... or this share of the longer side, whichever is larger; at least U of the difference
  double mark_tolerance = 2;  ///< mm, that an interval between marks may depart; common practice, no source
  double mark_sigma = 0.5;    ///< mm, of a mark's place along its edge: as found in a photo, 0.5 mm
  double scale_sigma =
      0.0003;  ///< share, of all lengths together: sheets whose bars were measured, or the survey's own figure
  bool one_scale =
      true;  ///< all pieces were measured with the same sheets: their common scale does not make them differ
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
  double length = 0;  ///< mm
};

/// In the order of the pieces and edges. A part of an edge counts as the edge.
std::vector<UnpairedEdge> unpaired_edges(const std::vector<SeamAsked>& seams, const std::vector<Piece>& pieces);

/// How far the adjustment moved one piece.
struct PieceMoves {
  std::string piece;
  bool fixed = false;           ///< the job keeps it as it is
  double rms = 0, largest = 0;  ///< mm, of its sew line's points, rigid motion removed
  Polyline before, moves;  ///< points of the unadjusted sew line, closed, and how far each was moved: for the picture
  std::vector<double> edge_before, edge_after;  ///< mm, net lengths in the order of its edges
};

/// Everything that was found out about a set of pieces. Seams that cannot be had are left out and told of in `faults`.
struct SetReport {
  std::vector<SeamReport> seams;       ///< of the job, as the unadjusted pieces are
  std::vector<SeamReport> after;       ///< the same seams after adjustment; empty when there was none
  std::vector<SeamReport> proposals;   ///< surest first
  std::vector<UnpairedEdge> unpaired;  ///< by the job's seams
  bool adjusted = false;               ///< `moves` and `after` are there
  std::string reason;                  ///< why there was no adjustment
  std::vector<PieceMoves> moves;       ///< a piece each, in their order
  Faults faults;
};

}  // namespace chalkfold
