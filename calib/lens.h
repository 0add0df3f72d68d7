// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>

#include "pipeline/geometry/point.h"

namespace chalkfold::calib {

/// Central projection with radial and tangential distortion: D. C. Brown, "Close-range camera calibration", 1971, in the
/// form and with the coefficient order that OpenCV documents (k1, k2, p1, p2, k3). Pixel (0,0) is the centre of the top-left pixel,
/// x right, y down. The lens is described in the sensor frame: the picture turned back to how the sensor read it.
struct Lens {
  /// px, sensor frame
  int width = 0, height = 0;
  double focal_px = 0;
  double centre_x_px = 0, centre_y_px = 0;
  double k1 = 0, k2 = 0, p1 = 0, p2 = 0, k3 = 0;
};

/// Distorts ideal image coordinates (x, y at depth 1). T may be a Ceres Jet; k holds k1, k2, p1, p2, k3.
template <class T>
void distort(const T* k, const T& x, const T& y, T& xd, T& yd) {
  const T r2 = x * x + y * y;
  const T radial = T(1) + r2 * (k[0] + r2 * (k[1] + r2 * k[4]));
  xd = x * radial + T(2) * k[2] * x * y + k[3] * (r2 + T(2) * x * x);
  yd = y * radial + k[2] * (r2 + T(2) * y * y) + T(2) * k[3] * x * y;
}

/// Pixel of a direction given at depth 1.
Vec2 photo_from_ideal(const Lens& lens, const Vec2& ideal);

/// Inverse of photo_from_ideal by Newton's method to 1e-13; where the distortion folds over (far outside the photo) the last iterate.
Vec2 ideal_from_photo(const Lens& lens, const Vec2& at_in_photo);

/// Camera pose: camera = rotation * table + translation, camera x right, y down, z forward (into the scene), mm.
struct Pose {
  /// camera_from_table
  Mat3 rotation = Mat3::Identity();
  /// table origin seen from the camera
  Vec3 translation = Vec3::Zero();
  Vec3 centre() const { return -rotation.transpose() * translation; }
};

/// Pixel of a table point. Of a point that does not lie in front of the camera the result is
/// meaningless; it is asked for pixel by pixel, so that this is not checked.
Vec2 photo_from_table(const Lens& lens, const Pose& pose, const Vec3& point_in_table);

/// Table point at the given height (z) seen in a pixel. Of a ray that does not meet that plane
/// in front of the camera the result is meaningless, as above.
Vec2 table_from_photo(const Lens& lens, const Pose& pose, const Vec2& at_in_photo, double height);

}  // namespace chalkfold::calib
