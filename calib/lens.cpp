// SPDX-License-Identifier: Apache-2.0
#include "calib/lens.h"

#include <Eigen/LU>

namespace chalkfold::calib {

namespace {
std::array<double, 5> coefficients(const Lens& lens) { return {lens.k1, lens.k2, lens.p1, lens.p2, lens.k3}; }
}  // namespace

Vec2 photo_from_ideal(const Lens& lens, const Vec2& ideal) {
  const auto k = coefficients(lens);
  Vec2 d;
  distort(k.data(), ideal.x(), ideal.y(), d.x(), d.y());
  return {lens.focal_px * d.x() + lens.centre_x_px, lens.focal_px * d.y() + lens.centre_y_px};
}

Vec2 ideal_from_photo(const Lens& lens, const Vec2& at_in_photo) {
  const Vec2 target((at_in_photo.x() - lens.centre_x_px) / lens.focal_px,
                    (at_in_photo.y() - lens.centre_y_px) / lens.focal_px);
  Vec2 p = target;
  const auto k = coefficients(lens);
  for (int iteration = 0; iteration < 20; ++iteration) {
    const double x = p.x(), y = p.y(), r2 = x * x + y * y;
    Vec2 d;
    distort(k.data(), x, y, d.x(), d.y());
    const double radial = 1 + r2 * (k[0] + r2 * (k[1] + r2 * k[4]));
    const double slope = 2 * (k[0] + r2 * (2 * k[1] + 3 * r2 * k[4]));  // d radial / d r2, times 2
    Mat2 jacobian;
    jacobian << radial + slope * x * x + 2 * k[2] * y + 6 * k[3] * x, slope * x * y + 2 * k[2] * x + 2 * k[3] * y,
        slope * x * y + 2 * k[2] * x + 2 * k[3] * y, radial + slope * y * y + 6 * k[2] * y + 2 * k[3] * x;
    if (!(jacobian.determinant() > 0.05)) break;
    const Vec2 step = jacobian.inverse() * (target - d);
    p += step;
    if (step.squaredNorm() < 1e-26) break;
  }
  return p;
}

Vec2 photo_from_table(const Lens& lens, const Pose& pose, const Vec3& point_in_table) {
  const Vec3 c = pose.rotation * point_in_table + pose.translation;
  return photo_from_ideal(lens, {c.x() / c.z(), c.y() / c.z()});
}

Vec2 table_from_photo(const Lens& lens, const Pose& pose, const Vec2& at_in_photo, double height) {
  const Vec2 ideal = ideal_from_photo(lens, at_in_photo);
  const Vec3 ray = pose.rotation.transpose() * Vec3(ideal.x(), ideal.y(), 1);
  const Vec3 eye = pose.centre();
  const double t = (height - eye.z()) / ray.z();
  return (eye + t * ray).head<2>();
}

}  // namespace chalkfold::calib
