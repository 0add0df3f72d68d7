// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/capture/photo.h"
#include "pipeline/panel/panel.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/base/trace_options.h"
#include "pipeline/trace/chalk/rings.h"

namespace chalkfold::trace {

/// Every line drawn on a panel, as one photo shows it, table mm: the strokes of stroke_finder.h but for those that run beside the panel's edge
/// or a cut-out's (halos, folds), and the faint links between their ends (faint_links.h).
std::vector<ChalkLine> find_chalk_lines(const panel::Panel& panel, const capture::Photo& photo,
                                        const survey::TableView& view, const TraceOptions& options);

}  // namespace chalkfold::trace
