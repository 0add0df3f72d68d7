// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <ceres/ceres.h>

#include <vector>

#include "pipeline/draft/set/set_bodies.h"

/// Residuals of the set adjustment. A parameter block holds the unknowns of one shape: its ShapeField's, then by how much each of
/// its marks slides along its edge, mm. All Jacobians are analytic.
namespace chalkfold::draft {

/// residual = matrix q: the prior of one shape, rows already divided by their sigmas.
class LinearCost : public ceres::CostFunction {
 public:
  explicit LinearCost(Eigen::MatrixXd matrix);
  bool Evaluate(double const* const* parameters, double* residuals, double** jacobians) const override;

 private:
  Eigen::MatrixXd matrix_;
};

/// residuals = rows q, each divided by `shrink` where it is negative and by `grow` where it is not; a shrink of 0 costs nothing.
class OneSidedCost : public ceres::CostFunction {
 public:
  struct Row {
    Eigen::RowVectorXd row;
    /// sigmas, in the row's unit
    double shrink = 0, grow = 1;
  };
  explicit OneSidedCost(std::vector<Row> rows);
  bool Evaluate(double const* const* parameters, double* residuals, double** jacobians) const override;

 private:
  std::vector<Row> rows_;
};

/// Stretch of a shape in eight directions round, as a share: what makes it smaller over `wear`, what makes it larger over `growth`.
/// Weighted so that one stretch along a single direction, by `wear`, costs as much as one residual of 1.
std::vector<OneSidedCost::Row> stretch_rows(const Body& body, double wear, double growth);

/// residual = (length of a - length of b - wanted) / sigma. Both sides may be of one body: then there is one block.
class IntervalCost : public ceres::CostFunction {
 public:
  IntervalCost(BodyInterval interval, double sigma, Eigen::Index size_a, Eigen::Index size_b);
  bool Evaluate(double const* const* parameters, double* residuals, double** jacobians) const override;

 private:
  BodyInterval interval_;
  double sigma_;
  bool same_body_;
};

}  // namespace chalkfold::draft
