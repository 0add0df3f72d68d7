// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>
#include <string>
#include <string_view>

#include "calib/lens.h"

namespace chalkfold::calib {

/// What is known of one phone's lens from earlier photos, and how well.
struct LensProfile {
  /// Which phone, as EXIF names it; empty and 0 where the photos did not say.
  std::string make, model;
  double focal_mm = 0, focal_35mm = 0, digital_zoom = 0;
  /// sensor frame; breathing and stabiliser averaged over the photos
  Lens lens;
  /// Covariance of focal_px, centre_x_px, centre_y_px, k1, k2, p1, p2, k3.
  static constexpr int parameters = 8;
  Eigen::Matrix<double, parameters, parameters> covariance = Eigen::Matrix<double, parameters, parameters>::Identity();
  int photos = 0;
  double reprojection_rms_px = 0;
};

/// Those of the lens in the covariance's order.
Eigen::Matrix<double, LensProfile::parameters, 1> parameters_of(const Lens& lens);

/// Standard deviation, px, of the distortion (how far a picture's point lies from where a lens without distortion would put it) at the picture's corner
/// farthest from the centre, along the radius.
double corner_distortion_sigma_px(const LensProfile& profile);

/// How far, px, a lens moves a point at the given ideal radius (tan of the angle to the axis) from where one without distortion would put it.
double radial_distortion_px(const Lens& lens, double ideal_radius);

/// The profile file's bytes: JSON, schema chalkfold-lens-1, every number to its last digit.
std::string lens_profile_json(const LensProfile& profile);

/// Reads it back. `where`: the file's name for messages. Throws UsageError that names the key and what was expected; an unknown key is an error that
/// names the nearest known one; so is a covariance that is none.
LensProfile read_lens_profile(std::string_view bytes, const std::string& where);

}  // namespace chalkfold::calib
