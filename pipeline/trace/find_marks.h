// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/capture/photo.h"
#include "pipeline/panel/panel.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/base/stage_picture.h"
#include "pipeline/trace/base/trace_options.h"

namespace chalkfold::trace {

/// Reads what was drawn on a measured panel and left in it, into panel.marks. Adds the fault centre-line-off to panel.faults when the
/// chalked centre line and the outline's own best reflection disagree (centre_line.h states by how much).
void find_marks(panel::Panel& panel, const capture::Photo& photo, const survey::TableView& view,
                const TraceOptions& options, const StagePicture& picture = {});

}  // namespace chalkfold::trace
