// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <optional>
#include <string>

#include "pipeline/draft/piece/outline_edges.h"
#include "pipeline/draft/piece/piece.h"
#include "pipeline/draft/piece/symmetry.h"

namespace chalkfold::draft {

/// What is asked of one piece. Stages in running order.
struct DraftOptions {
  /// texts for the labels
  std::string part, job, material;
  /// in its set
  int number = 1;
  int quantity = 1;
  /// of two, one is the mirror image
  bool one_mirrored = false;
  /// which side was up in the photo
  Side side = Side::inside;
  /// the old allowance comes from the needle rows
  bool existing_measured = false;
  /// mm, from the old cut edge to the old sew line; 0: the panel was cut on the seam
  double existing_allowance = 10;
  SymmetryOptions symmetry;
  EdgeOptions edges;
  /// mm, of the new cut line; common practice, no source
  double allowance = 10;
  /// mm, by edge number
  std::map<int, double> edge_allowances;
  /// times the allowance
  double mitre_limit = 3;
  /// how notches are cut; match marks stay drawn lines
  panel::NotchShape notch_style = panel::NotchShape::vee;
  /// mm, at most half the allowance
  double notch_depth = 4;
  /// degrees from the drawing's x axis, counter-clockwise; instead of the drawn arrow
  std::optional<double> grain_deg;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const DraftOptions& options);

}  // namespace chalkfold::draft
