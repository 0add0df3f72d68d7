// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

#include "pipeline/panel/panel.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/base/table_raster.h"

namespace chalkfold::trace {

/// One panel seen straight from above, and what on it departs from its material.
struct PanelPicture {
  TableRaster raster;
  /// CV_8UC3, as photographed; table and sheets around the panel included
  cv::Mat bgr;
  /// CV_8UC1, 255 on the panel, farther than the rim from outline and cut-outs
  cv::Mat inside;
  /// CV_32FC3: colour less the material's local mean, in three uncorrelated channels, each in units of the material's own standard
  /// deviation at the scale of a stroke. 0 outside. A stroke of any colour stands out in it by the same rule.
  cv::Mat departure;
  /// the linear part of that map, from colours of 0..1
  cv::Matx33f departure_from_bgr;
};

/// mm per px of the picture: the finest stroke, 1 mm, still covers more than one; a photo's own px are 0.2 to 0.4
inline constexpr double panel_mm_per_px = 0.6;

/// Rectifies the panel at the height of its face. Precondition: the panel lies in view.
PanelPicture panel_picture(const cv::Mat& photo_bgr, const survey::TableView& view, const panel::Panel& panel,
                           double face_height);

}  // namespace chalkfold::trace
