// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "pipeline/survey/bundle.h"

namespace chalkfold {

/// A flat board of known points seen in one photo: mm on the board, px in the photo, in step.
struct BoardPhoto {
  Polyline on_board, in_photo;
};

/// One lens with square pixels and all five distortion terms, one fixed board and its own setup a photo, no priors,
/// plain least squares: what other programs call calibration. Started from pose_from_plane at a rough focal length and
/// solved. Throws std::runtime_error when the solver fails.
struct Calibration {
  survey::Bundle bundle;
  double rms_px = 0;
};
Calibration calibrate(const std::vector<BoardPhoto>& photos, const cv::Size& size, double rough_focal_px);

}  // namespace chalkfold
