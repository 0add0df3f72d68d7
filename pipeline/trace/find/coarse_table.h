// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "pipeline/capture/photo.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/base/table_raster.h"
#include "pipeline/trace/base/trace_options.h"
#include "pipeline/trace/eye/eye.h"
#include "pipeline/trace/find/eye_panels.h"
#include "pipeline/trace/find/table_masks.h"

namespace chalkfold::trace {

/// The photo seen from above, coarsely, and what the network makes of it.
struct CoarseTable {
  TableRaster raster;
  cv::Mat bgr, lab;  // CV_8UC3
  TableMasks masks;
  cv::Mat well_inside;  // CV_8U, not at the photo's edge
  cv::Mat near_paper;   // CV_8U, within a finger's breadth of a sheet or a tag
  EyeMaps eye;
  std::vector<EyePanel> seen;
};

/// At the height of the panels' faces.
CoarseTable coarse_table(const capture::Photo& photo, const capture::Sighting& sighting, const survey::TableView& view,
                         const TraceOptions& options);

}  // namespace chalkfold::trace
