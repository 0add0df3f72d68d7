// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/capture/photo.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/base/panel_prior.h"
#include "pipeline/trace/base/stage_picture.h"
#include "pipeline/trace/base/trace_options.h"

namespace chalkfold::trace {

/// A panel as the coarse segmentation sees it, good to a millimetre or two.
struct CoarsePanel {
  /// table mm, counter-clockwise
  Polyline outline;
  /// table mm, clockwise
  std::vector<Polyline> cutouts;
  /// reaches the edge of what the photo shows
  bool cut_by_frame = false;
  /// lies over a sheet's paper, and its outline runs there as the network sees it
  bool over_sheet = false;
  /// the colours say that it lies over a sheet, and the network does not: where it ends there is not known
  bool hidden_by_sheet = false;
  /// mm, of a panel that the colours alone do not tell from table or shade: a stretch of its border that may be a shadow's, or no edge; 0: none
  double edge_lost = 0;
  /// table mm, counter-clockwise: its outline as the network has it, where that is of much the same shape; else empty
  Polyline seen_outline;
  /// the network saw it where the colours do not tell it from the table
  bool by_eye = false;
  /// told by its pattern, not by colour alone: the outline is good to a few millimetres only
  bool busy = false;
  /// how far its colour lies from the table's, in the table's own standard deviations
  double separation = 0;
};

struct Segmentation {
  std::vector<CoarsePanel> panels;
  /// table mm, counter-clockwise: what stands out by its colour and has no edge
  std::vector<Polyline> left_out;
  double mm_per_px = 0;
  /// the network's odds
  PanelPrior prior;
};

/// Finds panels as regions that do not look like the table. The table's colours are learnt where the table is sure to lie bare: just outside the sheets, on
/// the side away from the middle of the picture, and along the photo's rim. No assumption which of panel and table is darker. What is left is searched for
/// panels of the table's own colours that are busier than the table (busy_regions).
Segmentation segment_panels(const capture::Photo& photo, const capture::Sighting& sighting,
                            const survey::TableView& view, const TraceOptions& options, const StagePicture& picture);

}  // namespace chalkfold::trace
