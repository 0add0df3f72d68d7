// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "pipeline/draft/set/seam.h"
#include "pipeline/draft/sewing/thread.h"

namespace chalkfold::draft {

/// What part of a cover a piece is, as far as the order of sewing goes.
enum class PieceRole { centre, side, edge_strip };

/// "centre", "side", "edge strip".
std::string to_string(PieceRole role);

/// The role that a piece's own words tell (its `part`, or its name): "centre", "center", "middle"; "side", "bolster"; "strip",
/// "band", "piping", "welt", as whole words, in capitals or not. None when they tell none or more than one.
std::optional<PieceRole> role_in_words(std::string_view words);

/// A piece's role and where it is from.
struct RoleKnown {
  std::optional<PieceRole> role;
  enum class By { job, words, nothing } by = By::nothing;
};

/// How a set is sewn, and what its pieces are.
struct SewingOptions {
  StitchOptions stitch;
  /// of pieces by name, as the job says; goes before a piece's words
  std::map<std::string, PieceRole> roles;
  /// mm of one piece whose own is not in `thicknesses`
  double thickness = 1.2;
  /// mm, of pieces by name
  std::map<std::string, double> thicknesses;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const SewingOptions& options);

/// One seam in its turn.
struct SewingStep {
  /// index into the seams given
  std::size_t seam = 0;
  /// none: no role tells it
  std::optional<SewingGroup> group;
  enum class By { job, roles, nothing } group_by = By::nothing;
  /// the job gives its place
  bool ordered_by_job = false;
  /// mm, of its longer side
  double length = 0;
  /// mm, of everything that is sewn through
  double thickness = 0;
  ThreadNeed thread;
  std::vector<double> allowances_a,
      /// mm, stitch distance from the cut edge, edge by edge of either side
      allowances_b;
  /// try the cover on before this seam is sewn, and who says so
  enum class Fit { no, job, customary } fit = Fit::no;
};

/// What is sewn, in order.
struct SewingSheet {
  std::vector<SewingStep> steps;
  /// of the pieces, in their order
  std::vector<RoleKnown> roles;
  StitchOptions stitch;
  /// mm, of all seams
  double seam_length = 0;
  /// of all seams
  ThreadNeed thread;
  /// role-not-known, one for all such pieces
  Faults faults;
};

/// Puts seams in the order of sewing: centre pieces to each other, then sides to each other, sides to the centre, the closing seam,
/// edge strips last; within a group by number. Common practice, no source. A seam's group is what the job says, or follows from the
/// roles of its two pieces; which seam closes the cover no shape tells, so that comes from the job alone. Seams whose group nothing
/// tells come after the sides and before the closing seam, and are told of: no role is guessed. A seam for which the job gives a place
/// (SeamAsked::order, from 1) stands there, the others fill the places between.
/// Where to try the cover on: before the seams for which the job says so; and before the first closing seam, or the first edge strip
/// when there is none, after a seam of sides: common practice, no source.
SewingSheet sewing_sheet(const std::vector<SeamReport>& seams, const std::vector<Piece>& pieces,
                         const SewingOptions& options = {});

/// "centre pieces to each other", ... "closing seam", "edge strips".
std::string to_string(SewingGroup group);

}  // namespace chalkfold::draft
