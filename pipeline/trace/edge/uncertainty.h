// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/panel/panel.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/base/trace_options.h"

namespace chalkfold::trace {

/// mm, 1 standard deviation: what no fit of the edge sees, against truth on rendered photographs, of an outline point in one photo.
double model_sigma(const survey::TableView& view, const Vec2& at, const TraceOptions& options);

/// Expanded uncertainty of every point: edge finding, edge model, survey and height, the outline's rigid motion removed.
void fill_uncertainty(panel::Contour& contour, const survey::TableView& view, const TraceOptions& options);

/// Area, perimeter, extent and the medians of a panel from its outline and cut-outs.
void fill_numbers(panel::Panel& panel);

/// Of the photo at a table point.
double px_per_mm_at(const survey::TableView& view, const Vec2& at, double height);

/// outline-doubtful: a long stretch whose edge itself is doubtful says more than one number for the whole panel: the user should look there.
void add_doubtful_stretch(panel::Panel& panel, const std::string& photo);

}  // namespace chalkfold::trace
