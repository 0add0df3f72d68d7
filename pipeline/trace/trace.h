// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "pipeline/capture/photo.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/panel.h"
#include "pipeline/trace/stage_picture.h"
#include "pipeline/trace/trace_options.h"

namespace chalkfold {

/// A panel that runs off the picture, for joining with what other photos of the same setup show of it.
struct PanelPart {
  Panel panel;    ///< its outline runs along the picture's border where the panel goes on; no marks yet
  Polyline seen;  ///< table mm, closed: where in this photo the outline is to be believed
  Fault alone;    ///< panel-cut-by-frame: what is to be told when nothing can be joined to it
};

struct TraceResult {
  std::vector<Panel> panels;     ///< left to right, then bottom to top by centroid
  std::vector<PanelPart> parts;  ///< panels that run off the picture
  Faults faults;  ///< of the photo: no-panel, panel-over-sheet, panel-not-followed, no-sharp-edge and give_tags' own
};

/// Finds and measures every panel in a photo. Fault codes: no-panel, panel-cut-by-frame (of a part), panel-over-sheet, no-sharp-edge,
/// panel-not-followed, those of give_tags, and on a panel panel-low-contrast, outline-doubtful (a long stretch of doubtful edge) and centre-line-off.
TraceResult trace_panels(const Photo& photo, const Sighting& sighting, const TableView& view,
                         const TraceOptions& options = {}, const StagePicture& picture = {});

}  // namespace chalkfold
