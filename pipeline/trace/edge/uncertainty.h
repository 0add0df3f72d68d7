// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string>

#include "pipeline/panel/panel.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/base/trace_options.h"
#include "pipeline/trace/edge/boundary_path.h"

namespace chalkfold::trace {

/// k of an expanded uncertainty: some 95 % of a normal distribution (JCGM 100:2008, 6.3.3).
constexpr double coverage = 2;

/// At so many places along an outline the survey's part of U is computed, linear between: it changes slowly.
constexpr std::size_t survey_places = 160;

/// mm of outline that are worth a word: a nick with the corner either side, threads and chalk are shorter.
constexpr double long_stretch = 40;

/// mm, 1 standard deviation: what no fit of the edge sees, against truth on rendered photographs, of an outline point in one photo.
double model_sigma(const survey::TableView& view, const Vec2& at, const TraceOptions& options);

/// Adds to each point's sigma how far off the next best course of the boundary runs there, where that is farther than the edge is looked for: the fit of the
/// edge tells nearer ones apart by itself.
void add_rival_doubt(panel::Contour& contour, const FollowedBoundary& course);

/// Adds to the U of each point that lies outside another witness's outline (closed, counter-clockwise, good to `slack` mm; empty: none) how far it does: one
/// of the two is wrong there, by a thread, a shadow or grain that was taken for panel. Inside it a slot or a notch may lie, which the other overlooked.
void add_disagreement(panel::Contour& contour, const Polyline& other, double slack);

/// Expanded uncertainty of every point: edge finding, edge model, survey and height, the outline's rigid motion removed.
void fill_uncertainty(panel::Contour& contour, const survey::TableView& view, const TraceOptions& options);

/// Area, perimeter, extent and the medians of a panel from its outline and cut-outs.
void fill_numbers(panel::Panel& panel);

/// Of the photo at a table point.
double px_per_mm_at(const survey::TableView& view, const Vec2& at, double height);

/// outline-doubtful: a long stretch whose edge itself is doubtful says more than one number for the whole panel: the user should look there.
void add_doubtful_stretch(panel::Panel& panel, const std::string& photo);

}  // namespace chalkfold::trace
