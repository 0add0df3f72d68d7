// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "pipeline/capture/photo.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/panel/panel.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/base/stage_picture.h"
#include "pipeline/trace/base/trace_options.h"

namespace chalkfold::trace {

/// A panel that runs off the picture, for joining with what other photos of the same setup show of it.
struct PanelPart {
  /// its outline runs along the picture's border where the panel goes on; no marks yet
  panel::Panel panel;
  /// table mm, closed: where in this photo the outline is to be believed
  Polyline seen;
  /// panel-cut-by-frame: what is to be told when nothing can be joined to it
  Fault alone;
};

struct TraceResult {
  /// left to right, then bottom to top by centroid
  std::vector<panel::Panel> panels;
  /// panels that run off the picture
  std::vector<PanelPart> parts;
  /// of the photo: no-panel, left-out, panel-over-sheet, panel-not-followed, no-sharp-edge and give_tags' own
  Faults faults;
};

/// Finds and measures every panel in a photo. Fault codes: no-panel, panel-cut-by-frame (of a part), panel-over-sheet, no-sharp-edge,
/// panel-not-followed, left-out, those of give_tags, and on a panel panel-low-contrast, outline-doubtful (a long stretch of doubtful edge) and centre-line-off.
TraceResult trace_panels(const capture::Photo& photo, const capture::Sighting& sighting, const survey::TableView& view,
                         const TraceOptions& options = {}, const StagePicture& picture = {});

}  // namespace chalkfold::trace
