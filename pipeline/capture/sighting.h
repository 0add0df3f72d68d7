// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <string>
#include <vector>

#include "pipeline/capture/photo.h"
#include "pipeline/common/fault.h"
#include "pipeline/geometry/point.h"

namespace chalkfold::capture {

/// One inner corner of a sheet, seen in a photo.
struct CornerSighting {
  /// 0..23, see calib/sheet_layout.h
  int corner = 0;
  /// px, sub-pixel saddle point
  Vec2 at_in_photo;
  /// from the fit
  double sigma_px = 0.1;
};

/// One sheet seen in a photo.
struct SheetSighting {
  /// 1..20
  int number = 0;
  /// ascending corner numbers, only those that passed the gates
  std::vector<CornerSighting> corners;
  /// corners seen but dropped because they disagree with the rest of the sheet
  int dropped = 0;
  /// corners that fall outside the photo
  int outside = 0;
  /// median Gaussian sigma of the sheet's own edges
  double blur_px = 0;
  /// mean side of a square in the photo
  double square_px = 0;
  /// median of the paper's white squares, coded values 0..255
  double white = 255;
  /// median of the black squares
  double black = 0;
  /// the same by channel
  Eigen::Vector3d white_bgr = Eigen::Vector3d::Constant(255);
};

struct TagSighting {
  /// 1..99
  int number = 0;
  /// top left, top right, bottom right, bottom left of the tag itself
  std::array<Vec2, 4> corners_in_photo;
};

/// What one photo shows of sheets and tags. `faults` holds refusals (the photo is of no use) and warnings.
struct Sighting {
  /// file name
  std::string photo;
  /// px, upright
  int width = 0, height = 0;
  PhotoExif exif;
  /// ascending numbers
  std::vector<SheetSighting> sheets;
  /// ascending numbers
  std::vector<TagSighting> tags;
  Faults faults;
};

/// How sheets are looked for, and when they are good enough.
struct SightingOptions {
  /// the photo is reduced to this long side to look for markers; tried again larger if too little is found
  int search_px = 2016;
  /// a sheet with fewer good corners is not used
  int min_corners = 12;
  /// a corner further than this (or 4 sigma) from where its sheet's other corners put it is dropped
  double gate_px = 0.6;
  /// below: fault too-few-pixels
  double min_px_per_mm = 1.0;
  /// Gaussian sigma of the sheets' edges; above: refusal blurred
  double max_blur_px = 2.5;
  /// paper white at or above: warning
  double over_exposed = 253;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const SightingOptions& options);

/// Finds sheets and tags and measures the sheets' inner corners. Fault codes: no-sheet, one-sheet, sheet-cut-by-frame, blurred,
/// over-exposed, too-few-pixels, other-layout (a board with our markers in another arrangement: left out, never fitted).
/// Throws UsageError as check() does. Precondition: the photo has pixels, CV_8UC3.
Sighting find_sheets(const Photo& photo, const SightingOptions& options = {});

}  // namespace chalkfold::capture
