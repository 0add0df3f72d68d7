// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <set>
#include <string>

#include "pipeline/draft/set/seam.h"

namespace chalkfold::draft {

/// How an old panel differs from what it was cut as.
enum class WearKind {
  /// it became larger, hardly ever smaller: what was sat on
  stretched,
  /// larger or smaller: materials that shrink as well
  either,
};

struct AdjustOptions {
  SeamOptions seam;
  /// share of its length by which an edge may have worn (1 sigma); common practice, no source
  double wear = 0.01;
  /// share, of single pieces
  std::map<std::string, double> piece_wear;
  WearKind wear_kind = WearKind::stretched;
  /// stretched: so much of the wear may a piece be made larger again (1 sigma)
  double growth = 0.05;
  /// pieces that stay as they are
  std::set<std::string> fixed;
  /// of the wear, as a share of an edge's length: how far an edge moves by itself, beside the stretch of its piece
  double local = 0.1;
  /// rad, by which a corner's angle may change beside the stretch
  double corner_sigma = 0.01;
  /// mm, between control points
  double spacing = 60;
  /// mm, of any point of the sew line, rigid motion removed
  double move_limit = 6;
  /// a seam whose sides differ by more than so many sigmas of wear is a wrong pairing or ease
  double most_wear = 3;
  /// of the new cut lines
  double mitre_limit = 3;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const AdjustOptions& options);

}  // namespace chalkfold::draft
