// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

#include "pipeline/capture/sighting.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/base/table_raster.h"

namespace chalkfold::trace {

/// What is printed where, on a raster of the table: what does not look like it lies over the paper.
struct KnownPrint {
  /// CV_8U, 255 where a sheet (A4 or Letter, whichever is larger, and a small margin) or a tag's card lies
  cv::Mat paper;
  /// CV_8U, 255 where its print covers the paper, 0 on its white and where no paper is known
  cv::Mat ink;
};

/// `height`: the raster's, mm; the sheets lie at 0 and are seen displaced by it. Sheets are those of the survey.
KnownPrint known_print(const TableRaster& raster, const capture::Sighting& sighting, const survey::TableView& view,
                       double height);

}  // namespace chalkfold::trace
