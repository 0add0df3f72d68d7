// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/panel/mark.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/cuts/edge_strip.h"

namespace chalkfold::trace {

struct NeedleRowOptions {
  /// mm from the edge
  double least_depth = 2.5, most_depth = 26;
  /// mm from hole to hole
  double least_pitch = 2.5, most_pitch = 7;
  /// mm, diameter of a needle's hole
  double hole = 1.1;
  /// mm of row
  double least_length = 30;
  /// share of the holes that the pitch asks for
  double least_found = 0.6;
  /// mean over the row's holes, in spreads of the material's own dark dots above their median
  double least_darkness = 2.2;
  /// of a row, a hole: spreads left over when the row's gaps and unevenness are paid; chance alignments hardly pay
  double least_worth = 0.6;
  /// mm: beside a row, as wide again, and that far in, lies no seam: what rows the bare material shows there
  double control_depth = 30;
  /// worth of a row, of the best row that the bare material shows
  double least_over_control = 2.0;
  /// mm worn away within a row
  double longest_break = 34;
};

/// The rows of needle holes along an edge: one, two when it was top-stitched, none when none are sure.
///
/// Dark round dots of a hole's size (Laplacian of Gaussian, T. Lindeberg, "Feature detection with automatic scale selection", 1998) are compared with
/// all such dots beside the edge, most of which are the material's own. A row is the chain of dots, a near-constant pitch apart and near parallel to
/// the edge, whose darkness adds up to most (dynamic programming along the edge, a pitch at a time); the material's own dots cost more than
/// they bring, and a row must be worth more than the best one in a strip farther in, where no seam was: so a weave's regular gaps make no row.
std::vector<panel::NeedleRow> find_needle_rows(const cv::Mat& photo_bgr, const survey::TableView& view,
                                               const geometry::ClosedOutline& outline, const EdgeBase& base,
                                               double height, const NeedleRowOptions& options = {});

}  // namespace chalkfold::trace
