// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/capture/photo.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/stage_picture.h"
#include "pipeline/trace/trace_options.h"

namespace chalkfold {

/// A panel as the coarse segmentation sees it, good to a millimetre or two.
struct CoarsePanel {
  Polyline outline;               ///< table mm, counter-clockwise
  std::vector<Polyline> cutouts;  ///< table mm, clockwise
  bool cut_by_frame = false;      ///< reaches the edge of what the photo shows
  bool over_sheet = false;        ///< lies over a sheet's paper
  bool busy = false;      ///< told by its pattern, not by colour alone: the outline is good to a few millimetres only
  double separation = 0;  ///< how far its colour lies from the table's, in the table's own standard deviations
};

struct Segmentation {
  std::vector<CoarsePanel> panels;
  double mm_per_px = 0;
};

/// Finds panels as regions that do not look like the table. The table's colours are learnt where the table is sure to lie bare: just outside the sheets, on
/// the side away from the middle of the picture, and along the photo's rim. No assumption which of panel and table is darker. What is left is searched for
/// panels of the table's own colours that are busier than the table (busy_regions).
Segmentation segment_panels(const Photo& photo, const Sighting& sighting, const TableView& view,
                            const TraceOptions& options, const StagePicture& picture);

}  // namespace chalkfold
