// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <opencv2/core.hpp>
#include <string>

#include "pipeline/output/pictures/picture_frame.h"
#include "pipeline/panel/panel.h"

namespace chalkfold::output {

/// The photo seen straight from above inside the frame, CV_8UC3; light grey where the photo does not reach. Only the
/// frame's pixels are resampled. Precondition: the frame lies in front of the camera.
cv::Mat rectified(const cv::Mat& photo_bgr, const PhotoFromTable& photo_from_table, const PictureFrame& frame,
                  int grid_px);

/// pictures/NAME.jpg: the rectified photo with the outline and cut-outs drawn thin, whiskers of whisker_gain x U
/// pointing away from the material, and below it the panel's name, a 50 mm bar, a whisker of known U, the panel's U and
/// its photo. Readable in grey. Same
/// bytes for the same input and fonts.
std::string panel_picture_jpeg(const cv::Mat& photo_bgr, const PhotoFromTable& photo_from_table,
                               const panel::Panel& panel, const PictureOptions& options = {});

/// The same of a picture that is seen from above already.
std::string panel_picture_jpeg(const cv::Mat& rectified, const PictureFrame& frame, const panel::Panel& panel,
                               const PictureOptions& options = {});

/// A part of the photo between two corners in the table frame (mm), seen from above and unmirrored, with `margin` mm around it, as a JPEG
/// file's bytes: for what a person is to read. Four times as fine as the panel's picture.
std::string crop_jpeg(const cv::Mat& photo_bgr, const PhotoFromTable& photo_from_table, const Vec2& low,
                      const Vec2& high, double margin, const PictureOptions& options = {});

/// An 8-bit picture (1 or 3 channels) as a PNG file's bytes.
std::string png_of(const cv::Mat& picture);

}  // namespace chalkfold::output
