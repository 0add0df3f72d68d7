// SPDX-License-Identifier: Apache-2.0
#include "pipeline/survey/table_view.h"

#include <Eigen/Dense>
#include <Eigen/Geometry>
#include <cmath>
#include <numbers>

#include "pipeline/common/require.h"
#include "pipeline/survey/sensor_frame.h"

namespace chalkfold::survey {
namespace {

SensorFrame frame_of(const TableView::Solution& s) { return {s.width, s.height, s.quarter_turns}; }

/// The solution with parameter k moved by `step`, in the order of the covariance.
TableView::Solution moved(TableView::Solution s, int k, double step) {
  if (k < 3) {
    s.pose.rotation = Eigen::AngleAxisd(step, Vec3::Unit(k)).toRotationMatrix() * s.pose.rotation;
  } else if (k < 6) {
    s.pose.translation[k - 3] += step;
  } else {
    double* const lens[] = {&s.lens.focal_px, &s.lens.centre_x_px, &s.lens.centre_y_px, &s.lens.k1,
                            &s.lens.k2,       &s.lens.p1,          &s.lens.p2,          &s.lens.k3};
    *lens[k - 6] += step;
  }
  return s;
}

// Steps that move a point by about a hundredth of a millimetre each: far above rounding, far below curvature.
constexpr double steps[TableView::parameters] = {1e-5, 1e-5, 1e-5, 1e-2, 1e-2, 1e-2, 3e-2,
                                                 3e-2, 3e-2, 1e-5, 1e-5, 1e-6, 1e-6, 1e-5};

Eigen::Matrix<double, 2, TableView::parameters> jacobian(const TableView::Solution& solution, const Vec2& at_in_sensor,
                                                         double height) {
  Eigen::Matrix<double, 2, TableView::parameters> j;
  for (int k = 0; k < TableView::parameters; ++k) {
    const auto plus = moved(solution, k, steps[k]), minus = moved(solution, k, -steps[k]);
    j.col(k) = (calib::table_from_photo(plus.lens, plus.pose, at_in_sensor, height) -
                calib::table_from_photo(minus.lens, minus.pose, at_in_sensor, height)) /
               (2 * steps[k]);
  }
  return j;
}

}  // namespace

TableView::TableView(Solution solution) : solution_(std::move(solution)) {}

Vec2 TableView::photo_from_table(const Vec2& at_in_table, double height) const {
  return frame_of(solution_).photo_from_sensor(
      chalkfold::calib::photo_from_table(solution_.lens, solution_.pose, {at_in_table.x(), at_in_table.y(), height}));
}

Vec2 TableView::table_from_photo(const Vec2& at_in_photo, double height) const {
  return chalkfold::calib::table_from_photo(solution_.lens, solution_.pose,
                                            frame_of(solution_).sensor_from_photo(at_in_photo), height);
}

double TableView::tilt_deg() const {
  return std::acos(std::clamp(-solution_.pose.rotation(2, 2), -1.0, 1.0)) * 180 / std::numbers::pi;
}

double TableView::camera_height() const { return solution_.pose.centre().z(); }

Vec2 TableView::camera_foot() const { return solution_.pose.centre().head<2>(); }

double TableView::mm_per_px(const Vec2& at_in_photo) const {
  const Vec2 dx = table_from_photo(at_in_photo + Vec2(1, 0), 0) - table_from_photo(at_in_photo - Vec2(1, 0), 0);
  const Vec2 dy = table_from_photo(at_in_photo + Vec2(0, 1), 0) - table_from_photo(at_in_photo - Vec2(0, 1), 0);
  return 0.5 * std::sqrt(std::abs(dx.x() * dy.y() - dx.y() * dy.x()));
}

Eigen::Matrix<double, 2, TableView::parameters> TableView::jacobian_at(const Vec2& at_in_photo, double height) const {
  return jacobian(solution_, frame_of(solution_).sensor_from_photo(at_in_photo), height);
}

Mat2 TableView::covariance_at(const Vec2& at_in_photo, double height, double sigma_px, double height_sigma) const {
  const auto j = jacobian_at(at_in_photo, height);
  Mat2 by_px;
  by_px.col(0) =
      0.5 * (table_from_photo(at_in_photo + Vec2(1, 0), height) - table_from_photo(at_in_photo - Vec2(1, 0), height));
  by_px.col(1) =
      0.5 * (table_from_photo(at_in_photo + Vec2(0, 1), height) - table_from_photo(at_in_photo - Vec2(0, 1), height));
  const Vec2 by_height = 0.5 * (table_from_photo(at_in_photo, height + 1) - table_from_photo(at_in_photo, height - 1));
  return j * solution_.covariance * j.transpose() + sigma_px * sigma_px * by_px * by_px.transpose() +
         height_sigma * height_sigma * by_height * by_height.transpose();
}

std::vector<double> TableView::shape_sigma(const Polyline& points_in_table, const Polyline& normals, double height,
                                           double height_sigma) const {
  require_equal("normals", normals.size(), points_in_table.size());
  const auto n = static_cast<Eigen::Index>(points_in_table.size());
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix<double, parameters, parameters>> eigen(solution_.covariance);
  const Eigen::Matrix<double, parameters, parameters> root =
      eigen.eigenvectors() * eigen.eigenvalues().cwiseMax(0).cwiseSqrt().asDiagonal();
  Vec2 middle = Vec2::Zero();
  for (const Vec2& p : points_in_table) middle += p / static_cast<double>(n);
  // Columns of `moves`: normal displacement of every point for one standard deviation of each independent cause, height last.
  Eigen::MatrixXd moves(n, parameters + 1), rigid(n, 3);
  for (Eigen::Index i = 0; i < n; ++i) {
    const auto k = static_cast<std::size_t>(i);
    const Vec2 at_in_photo = photo_from_table(points_in_table[k], height);
    moves.block<1, parameters>(i, 0) = normals[k].transpose() * jacobian_at(at_in_photo, height) * root;
    const Vec2 by_height =
        0.5 * (table_from_photo(at_in_photo, height + 1) - table_from_photo(at_in_photo, height - 1));
    moves(i, parameters) = height_sigma * normals[k].dot(by_height);
    const Vec2 arm = points_in_table[k] - middle;
    rigid.row(i) << normals[k].x(), normals[k].y(), normals[k].y() * arm.x() - normals[k].x() * arm.y();
  }
  if (n >= 4) moves -= rigid * rigid.colPivHouseholderQr().solve(moves);
  std::vector<double> sigma(static_cast<std::size_t>(n));
  for (Eigen::Index i = 0; i < n; ++i) sigma[static_cast<std::size_t>(i)] = moves.row(i).norm();
  return sigma;
}

}  // namespace chalkfold::survey
