// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "pipeline/capture/sighting.h"
#include "pipeline/trace/base/table_raster.h"

namespace chalkfold::trace {

/// mm: a sheet's paper is A4 (210 x 297, ISO 216) or US Letter (215.9 x 279.4), as wide and as long as either.
constexpr double widest_paper = 215.9, longest_paper = 297;

/// What of a table raster is known before any panel is looked for. All CV_8U, 255 where set.
struct TableMasks {
  /// inside the photo
  cv::Mat visible;
  /// under a sheet (A4 or Letter, whichever is larger) or a tag's card, with a small margin
  cv::Mat paper;
  /// a sheet's white margin around its board: what is not white there lies over the sheet
  cv::Mat margin;
  /// bare table just outside a sheet, on its side away from the middle of the picture
  cv::Mat ring;
  /// along the photo's edge
  cv::Mat rim;
};

/// `shown`: the part of the (reduced) photo that holds a picture, px, all of it unless the file was cut short.
TableMasks table_masks(const TableRaster& raster, const cv::Mat& map, const cv::Rect2d& shown,
                       const capture::Sighting& sighting, const survey::TableView& view);

/// Disc of a diameter in px as structuring element, at least 1 px.
cv::Mat disc(double diameter_px);

}  // namespace chalkfold::trace
