// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <opencv2/core.hpp>
#include <optional>
#include <string>

#include "pipeline/common/fault.h"

namespace chalkfold::capture {

/// What the camera wrote beside the picture. Zero or empty where the file does not say.
struct PhotoExif {
  /// printable ASCII
  std::string make, model;
  double focal_mm = 0;
  /// 35 mm equivalent, mm (CIPA DC-008: by the diagonal)
  double focal_35mm = 0;
  /// 0 or 1 means none
  double digital_zoom = 0;
  /// EXIF 1..8 as stored
  int orientation = 1;
};

/// How coarsely a JPEG keeps slow changes of shade across its blocks: mean quantisation step of the five lowest frequencies, of 255 (ITU-T T.81).
/// What is finer may be made up. 0 where the file does not say.
struct CodingSteps {
  double light = 0, colour = 0;
};

/// A decoded photo, turned upright by its EXIF orientation. Frame `photo`: px, x right, y down, (0,0) = centre of the top-left pixel.
struct Photo {
  /// file name without folder
  std::string name;
  /// CV_8UC3, upright; grey and 16-bit files are converted
  cv::Mat bgr;
  PhotoExif exif;
  CodingSteps coding;
  /// of the file's bytes, lower-case hex
  std::string sha256;
  /// share of the picture's rows (stored order) that were really decoded; below 1 for a truncated file
  double intact = 1;
  /// the part of `bgr` that was really decoded: all of it, unless intact < 1; the rest is black
  cv::Rect intact_part;
};

/// Which files are taken for photos.
struct LoadOptions {
  /// width x height / 1e6; checked on the file's header before any pixel is decoded
  double max_megapixels = 250;
  /// smaller pictures are refused
  double min_megapixels = 1;
  /// a truncated file with less than this share of its rows is refused
  double min_intact = 0.5;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const LoadOptions& options);

/// A photo, or the faults that kept it from being one. A truncated but usable photo carries a warning.
struct LoadResult {
  std::optional<Photo> photo;
  Faults faults;
};

/// Reads JPEG, PNG, TIFF, WebP and HEIC/HEIF. Never throws for a bad file: whatever is wrong with it (missing, a folder, no picture,
/// truncated, too large, too small) comes back as a refusal that names the file and the remedy. Fault codes: photo-missing, photo-unreadable,
/// photo-not-a-picture, photo-truncated, photo-too-large, photo-too-small, photo-failed (memory ran out).
/// Throws UsageError as check() does.
LoadResult load_photo(const std::filesystem::path& file, const LoadOptions& options = {});

/// Turns stored pixels upright: EXIF orientation 1..8 (JEITA CP-3451, tag 0x0112). Anything else counts as 1.
/// The result shares its pixels with `stored` when there is nothing to turn.
cv::Mat upright(const cv::Mat& stored, int orientation);

}  // namespace chalkfold::capture
