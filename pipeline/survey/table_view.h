// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "calib/lens.h"
#include "pipeline/geometry/point.h"

namespace chalkfold::survey {

/// A sheet as it lies on the table: table = rotation(theta) * (sheet frame, scaled by the print) + centre.
struct SheetPlace {
  int number = 0;
  Vec2 centre = Vec2::Zero();
  double theta = 0;
};

/// One photo's view of the table: photo px <-> table mm at a height, with the survey's uncertainty.
/// Frames: `photo` px as in Photo (upright); `table` mm, x right, y away from the viewer, z up, z = 0 on the sheets' printed face.
class TableView {
 public:
  /// Everything the map depends on, as the survey solved it, and the joint covariance of those numbers.
  /// Order of `covariance`: rotation (3, rad, left tangent: rotation = exp([w]x) * estimate), translation (3, mm),
  /// focal_px, centre_x_px, centre_y_px (of this photo), k1, k2, p1, p2, k3. The print scale's doubt is inside, in the translation.
  static constexpr int parameters = 14;

  struct Solution {
    std::string photo;
    /// px, upright
    int width = 0, height = 0;
    /// clockwise quarter turns that bring the sensor frame upright, 0..3
    int quarter_turns = 0;
    /// effective for this photo, sensor frame
    calib::Lens lens;
    /// of the sensor frame
    calib::Pose pose;
    std::vector<SheetPlace> sheets;
    double print_scale_x = 1, print_scale_y = 1;
    Eigen::Matrix<double, parameters, parameters> covariance = Eigen::Matrix<double, parameters, parameters>::Zero();
    double reprojection_rms_px = 0;
    int corners_used = 0, corners_dropped = 0;
  };

  explicit TableView(Solution solution);

  const Solution& solution() const { return solution_; }

  /// Photo px of a table point. Meaningless of one that is not in front of the camera (calib/lens.h).
  Vec2 photo_from_table(const Vec2& at_in_table, double height) const;
  /// Table point at a height (mm above the sheets) seen in a pixel.
  Vec2 table_from_photo(const Vec2& at_in_photo, double height) const;

  /// of the optical axis against the table's normal
  double tilt_deg() const;
  /// mm above the table
  double camera_height() const;
  /// the table point straight below the camera
  Vec2 camera_foot() const;
  /// geometric mean of the local scale
  double mm_per_px(const Vec2& at_in_photo) const;

  /// 2 x 2 covariance, mm2, of the table point seen in a pixel known to sigma_px, at a height known to height_sigma.
  Mat2 covariance_at(const Vec2& at_in_photo, double height, double sigma_px, double height_sigma) const;

  /// d table / d parameters (2 x 14) of the table point seen in a pixel at a height, numerically.
  Eigen::Matrix<double, 2, parameters> jacobian_at(const Vec2& at_in_photo, double height) const;

  /// Standard deviation, mm, of each outline point along its normal once the outline's rigid motion is removed, from the survey and the
  /// height alone: what a shape comparison sees. points_in_table[i] at `height`, normals[i] unit.
  std::vector<double> shape_sigma(const Polyline& points_in_table, const Polyline& normals, double height,
                                  double height_sigma) const;

 private:
  Solution solution_;
};

}  // namespace chalkfold::survey
