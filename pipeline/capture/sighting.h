// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <string>
#include <vector>

#include "pipeline/capture/photo.h"
#include "pipeline/common/fault.h"
#include "pipeline/geometry/point.h"

namespace chalkfold {

/// One inner corner of a sheet, seen in a photo.
struct CornerSighting {
  int corner = 0;         ///< 0..23, see calib/sheet_layout.h
  Vec2 at_in_photo;       ///< px, sub-pixel saddle point
  double sigma_px = 0.1;  ///< from the fit
};

/// One sheet seen in a photo.
struct SheetSighting {
  int number = 0;                       ///< 1..20
  std::vector<CornerSighting> corners;  ///< ascending corner numbers, only those that passed the gates
  int dropped = 0;                      ///< corners seen but dropped because they disagree with the rest of the sheet
  int outside = 0;                      ///< corners that fall outside the photo
  double blur_px = 0;                   ///< median Gaussian sigma of the sheet's own edges
  double square_px = 0;                 ///< mean side of a square in the photo
  double white = 255;                   ///< median of the paper's white squares, coded values 0..255
  double black = 0;                     ///< median of the black squares
  Eigen::Vector3d white_bgr = Eigen::Vector3d::Constant(255);  ///< the same by channel
};

struct TagSighting {
  int number = 0;                        ///< 1..99
  std::array<Vec2, 4> corners_in_photo;  ///< top left, top right, bottom right, bottom left of the tag itself
};

/// What one photo shows of sheets and tags. `faults` holds refusals (the photo is of no use) and warnings.
struct Sighting {
  std::string photo;          ///< file name
  int width = 0, height = 0;  ///< px, upright
  PhotoExif exif;
  std::vector<SheetSighting> sheets;  ///< ascending numbers
  std::vector<TagSighting> tags;      ///< ascending numbers
  Faults faults;
};

struct SightingOptions {
  int search_px =
      2016;  ///< the photo is reduced to this long side to look for markers; tried again larger if too little is found
  int min_corners = 12;  ///< a sheet with fewer good corners is not used
  double gate_px =
      0.6;  ///< a corner further than this (or 4 sigma) from where its sheet's other corners put it is dropped
  double min_px_per_mm = 1.0;  ///< below: fault too-few-pixels
  double max_blur_px = 2.5;    ///< Gaussian sigma of the sheets' edges; above: refusal blurred
  double over_exposed = 253;   ///< paper white at or above: warning
};

/// Finds sheets and tags and measures the sheets' inner corners. Fault codes: no-sheet, one-sheet, sheet-cut-by-frame, blurred,
/// over-exposed, too-few-pixels, other-layout (a board with our markers in another arrangement: left out, never fitted).
Sighting find_sheets(const Photo& photo, const SightingOptions& options = {});

}  // namespace chalkfold
