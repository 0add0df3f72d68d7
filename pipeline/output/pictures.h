// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <opencv2/core.hpp>
#include <string>

#include "pipeline/trace/panel.h"

namespace chalkfold {

struct PictureOptions {
  double mm_per_px = 0.5;
  double margin = 20;         ///< mm of table around the panel, more where whiskers are long
  double min_width = 300;     ///< mm; a narrower picture is widened so that its labels fit
  int grid_px = 8;            ///< the map from picture to photo is computed at this pitch and filled in bilinearly
  double whisker_every = 20;  ///< mm along the outline
  double whisker_gain = 20;   ///< a whisker is this many times as long as U at its foot
  int jpeg_quality = 88;      ///< 0..100
};

/// Photo px of a table point (mm) on the panel's upper face.
using PhotoFromTable = std::function<Vec2(const Vec2& at_in_table)>;

/// Where a picture's pixels lie on the table. Up in the table is up in the picture; it is never mirrored.
struct PictureFrame {
  double left = 0, top = 0;  ///< table mm of the picture's upper left corner (the corner, not a pixel's centre)
  double mm_per_px = 0.5;
  int width_px = 0, height_px = 0;

  /// Picture coordinates: px, x right, y down, (0, 0) = the upper left corner, so that pixel (i, j) is centred on (i +
  /// 0.5, j + 0.5).
  Vec2 picture_from_table(const Vec2& at_in_table) const;
  Vec2 table_from_picture(const Vec2& at_in_picture) const;
};

/// The panel with its margin.
PictureFrame frame_around(const Panel& panel, const PictureOptions& options);

/// The photo seen straight from above inside the frame, CV_8UC3; light grey where the photo does not reach. Only the
/// frame's pixels are resampled. Precondition: the frame lies in front of the camera.
cv::Mat rectified(const cv::Mat& photo_bgr, const PhotoFromTable& photo_from_table, const PictureFrame& frame,
                  int grid_px);

/// pictures/NAME.jpg: the rectified photo with the outline and cut-outs drawn thin, whiskers of whisker_gain x U
/// pointing away from the material, and below it the panel's name, a 50 mm bar, a whisker of known U, the panel's U and
/// its photo. Readable in grey. Same
/// bytes for the same input and fonts.
std::string panel_picture_jpeg(const cv::Mat& photo_bgr, const PhotoFromTable& photo_from_table, const Panel& panel,
                               const PictureOptions& options = {});

/// The same of a picture that is seen from above already.
std::string panel_picture_jpeg(const cv::Mat& rectified, const PictureFrame& frame, const Panel& panel,
                               const PictureOptions& options = {});

/// A part of the photo between two corners in the table frame (mm), seen from above and unmirrored, with `margin` mm around it, as a JPEG
/// file's bytes: for what a person is to read. Four times as fine as the panel's picture.
std::string crop_jpeg(const cv::Mat& photo_bgr, const PhotoFromTable& photo_from_table, const Vec2& low,
                      const Vec2& high, double margin, const PictureOptions& options = {});

/// An 8-bit picture (1 or 3 channels) as a PNG file's bytes.
std::string png_of(const cv::Mat& picture);

}  // namespace chalkfold
