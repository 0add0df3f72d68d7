// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/survey/table_view.h"
#include "pipeline/trace/panel.h"
#include "pipeline/capture/photo.h"
#include "pipeline/trace/stage_picture.h"
#include "pipeline/trace/trace_options.h"

namespace chalkfold {

/// Reads what was drawn on a measured panel and left in it, into panel.marks. Adds the fault centre-line-off to panel.faults when the
/// chalked centre line and the outline's own best reflection disagree (centre_line.h states by how much).
void find_marks(Panel& panel, const Photo& photo, const TableView& view, const TraceOptions& options,
                const StagePicture& picture = {});

}  // namespace chalkfold
