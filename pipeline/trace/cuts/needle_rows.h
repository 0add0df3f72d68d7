// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/panel/mark.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/cuts/edge_strip.h"

namespace chalkfold::trace {

/// mm from hole to hole: upholstery is sewn with ten to four stitches an inch; common practice
inline constexpr double least_needle_pitch = 2.5, most_needle_pitch = 7;
/// mm worn away within a row, or beyond its end; fitted, see needle_rows.cpp
inline constexpr double longest_row_break = 34;

/// The rows of needle holes along an edge: one, two when it was top-stitched, none when none are sure.
///
/// Dark round dots of a hole's size (Laplacian of Gaussian, T. Lindeberg, "Feature detection with automatic scale selection", 1998) are compared with
/// all such dots beside the edge, most of which are the material's own. A row is the chain of dots, a near-constant pitch apart and near parallel to
/// the edge, whose darkness adds up to most (dynamic programming along the edge, a pitch at a time); the material's own dots cost more than
/// they bring, and a row must be worth more than the best one in a strip farther in, where no seam was: so a weave's regular gaps make no row.
std::vector<panel::NeedleRow> find_needle_rows(const cv::Mat& photo_bgr, const survey::TableView& view,
                                               const geometry::ClosedOutline& outline, const EdgeBase& base,
                                               double height);

}  // namespace chalkfold::trace
