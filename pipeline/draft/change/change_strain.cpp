// SPDX-License-Identifier: Apache-2.0
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/draft/change/change_steps.h"
#include "pipeline/geometry/robust.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::draft {

namespace {
using Vec6 = Eigen::Matrix<double, 6, 1>;
using Mat6 = Eigen::Matrix<double, 6, 6>;

/// Change along, change across (shares) and shear (rad) of a linear map, for a direction known on either side of it.
Vec3 strain_along(const Mat2& measured_from_reference, const Vec2& direction, bool in_measured) {
  const Vec2 g = in_measured ? Vec2((measured_from_reference.inverse() * direction).normalized()) : direction;
  const Vec2 along = measured_from_reference * g, across = measured_from_reference * geometry::left_of(g);
  return {along.norm() - 1, across.norm() - 1, std::asin(along.dot(across) / (along.norm() * across.norm()))};
}

/// Rows: along, across, shear; columns: the linear map's entries, by rows.
Eigen::Matrix<double, 3, 4> derivatives(const Mat2& map, const Vec2& direction, bool in_measured) {
  constexpr double h = 1e-6;
  Eigen::Matrix<double, 3, 4> out;
  for (int k = 0; k < 4; ++k) {
    Mat2 more = map, less = map;
    more(k / 2, k % 2) += h;
    less(k / 2, k % 2) -= h;
    out.col(k) = (strain_along(more, direction, in_measured) - strain_along(less, direction, in_measured)) / (2 * h);
  }
  return out;
}

Vec6 row_of(const geometry::FitPlace& place, const Vec2& middle) {
  const Vec2 &n = place.target.outward, p = place.source.point - middle;
  Vec6 row;
  row << n.x() * p.x(), n.x() * p.y(), n.y() * p.x(), n.y() * p.y(), n.x(), n.y();
  return row;
}
}  // namespace

double angle_between_lines(const Vec2& a, const Vec2& b) {
  return std::atan2(std::abs(geometry::cross(a, b)), std::abs(a.dot(b)));
}

double shared_sigma(const panel::Contour& contour, std::size_t point) {
  const double all = contour.U[point] / 2, own = contour.sigma[point];
  return std::sqrt(std::max(0.0, all * all - own * own));
}

double median_shared_sigma(const panel::Contour& contour) {
  std::vector<double> sigmas;
  for (std::size_t i = 0; i < contour.points.size(); ++i) sigmas.push_back(shared_sigma(contour, i));
  return geometry::median(sigmas);
}

void take_strain(DimensionalChange& change, const ComparedShape& reference, const ComparedShape& measured,
                 const std::vector<geometry::FitPlace>& places, const Vec2& reference_direction, double alike) {
  const bool in_measured = change.direction_from != DirectionFrom::reference_grain;
  const Vec2 direction = in_measured ? change.direction : reference_direction;
  const Mat2& map = change.affine.linear;
  const Vec3 strain = strain_along(map, direction, in_measured);
  Vec2 middle = Vec2::Zero();
  for (const geometry::FitPlace& f : places) middle += f.source.point / static_cast<double>(places.size());
  Mat6 normal = Mat6::Zero();
  double squares = 0, weights = 0;
  for (const geometry::FitPlace& f : places) {
    const Vec6 row = row_of(f, middle);
    normal += f.weight * row * row.transpose();
    squares += f.weight * f.target.away * f.target.away;
    weights += f.weight;
  }
  // A round panel leaves its turn open: those entries then have a large variance, which is what they deserve.
  normal.diagonal().array() += 1e-12 * normal.diagonal().maxCoeff();
  Eigen::Matrix<double, 3, 6> of_entries = Eigen::Matrix<double, 3, 6>::Zero();
  of_entries.leftCols<4>() = derivatives(map, direction, in_measured);
  // times row and weight: the effect of a point
  const Eigen::Matrix<double, 3, 6> gain = of_entries * normal.inverse();
  double length = 0;
  for (std::size_t i = 0; i < measured.outline.points.size(); ++i)
    length += (measured.outline.points[(i + 1) % measured.outline.points.size()] - measured.outline.points[i]).norm();
  const double together = std::max(1.0, alike * static_cast<double>(places.size()) / length);
  // Six numbers were taken from the stretches that count as one observation each.
  const double free_share = std::max(0.25, 1 - 6 * together / static_cast<double>(places.size()));
  const double variance = squares / std::max(weights, 1e-9) / free_share;
  Vec3 random = Vec3::Zero(), of_reference = Vec3::Zero(), of_measured = Vec3::Zero();
  for (const geometry::FitPlace& f : places) {
    const Vec3 effect = f.weight * gain * row_of(f, middle);
    random += together * variance * effect.cwiseAbs2();
    of_reference += shared_sigma(reference.outline, f.source.segment) * effect.cwiseAbs();
    of_measured += shared_sigma(measured.outline, f.target.segment) * effect.cwiseAbs();
  }
  const Vec3 U = 2 * (random + of_reference.cwiseAbs2() + of_measured.cwiseAbs2()).cwiseSqrt();
  change.along = {100 * strain[0], 100 * U[0]};
  change.across = {100 * strain[1], 100 * U[1]};
  change.shear_deg = strain[2] * 180 / std::numbers::pi;
  change.shear_U_deg = U[2] * 180 / std::numbers::pi;
}

}  // namespace chalkfold::draft
