// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>

#include "pipeline/geometry/point.h"

namespace chalkfold::capture {

/// A checkerboard corner as it is fitted: two straight edges crossing in a blurred picture.
struct SaddleFit {
  bool ok = false;
  /// px, photo frame
  Vec2 centre = Vec2::Zero();
  /// standard deviation of the centre (each axis), from the fit's residual
  double sigma_px = 0;
  /// Gaussian sigma of the edges
  double blur_px = 0;
  /// half the step between white and black, coded values
  double contrast = 0;
  /// rms, coded values
  double residual = 0;
};

/// Where a corner is expected and how the sheet lies there.
struct SaddleStart {
  /// px
  Vec2 centre = Vec2::Zero();
  /// local linear map, px per mm: columns are the sheet's x and y directions
  Mat2 photo_from_sheet = Mat2::Zero();
  /// mm on the sheet: the window, kept clear of the markers (7.07 mm away along the diagonal)
  double radius = 5.5;
  /// +1 when the square up-right of the corner (sheet x, y > 0) is white
  double first_sign = 1;
};

/// Fits grey(x) = level + contrast * erf(d1 / (sqrt2 blur)) * erf(d2 / (sqrt2 blur)) by Levenberg-Marquardt, d1 and d2 the signed
/// distances to two lines through the centre. The model is unchanged by half a turn about the corner, so a tone curve shifts its edges but not its centre.
/// Fails (ok = false) when the window leaves the picture, the fit leaves the window, or the contrast is not that of a corner.
SaddleFit fit_saddle(const cv::Mat& grey, const SaddleStart& start);

}  // namespace chalkfold::capture
