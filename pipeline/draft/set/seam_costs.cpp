// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/seam_costs.h"

#include <cmath>
#include <numbers>

namespace chalkfold::draft {
namespace {

using RowMajor = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

}  // namespace

LinearCost::LinearCost(Eigen::MatrixXd matrix) : matrix_(std::move(matrix)) {
  set_num_residuals(static_cast<int>(matrix_.rows()));
  mutable_parameter_block_sizes()->push_back(static_cast<int>(matrix_.cols()));
}

bool LinearCost::Evaluate(double const* const* parameters, double* residuals, double** jacobians) const {
  const Eigen::Map<const Eigen::VectorXd> q(parameters[0], matrix_.cols());
  Eigen::Map<Eigen::VectorXd>(residuals, matrix_.rows()) = matrix_ * q;
  if (jacobians && jacobians[0]) Eigen::Map<RowMajor>(jacobians[0], matrix_.rows(), matrix_.cols()) = matrix_;
  return true;
}

OneSidedCost::OneSidedCost(std::vector<Row> rows) : rows_(std::move(rows)) {
  set_num_residuals(static_cast<int>(rows_.size()));
  mutable_parameter_block_sizes()->push_back(static_cast<int>(rows_.at(0).row.size()));
}

bool OneSidedCost::Evaluate(double const* const* parameters, double* residuals, double** jacobians) const {
  const Eigen::Index size = rows_[0].row.size();
  const Eigen::Map<const Eigen::VectorXd> q(parameters[0], size);
  for (std::size_t k = 0; k < rows_.size(); ++k) {
    const Row& row = rows_[k];
    const double value = row.row.dot(q);
    const double weight = value > 0 ? 1 / row.grow : row.shrink > 0 ? 1 / row.shrink : 0;
    residuals[k] = weight * value;
    if (jacobians && jacobians[0])
      Eigen::Map<Eigen::RowVectorXd>(jacobians[0] + static_cast<Eigen::Index>(k) * size, size) = weight * row.row;
  }
  return true;
}

std::vector<OneSidedCost::Row> stretch_rows(const Body& body, double wear, double growth) {
  std::vector<OneSidedCost::Row> rows;
  for (int k = 0; k < 8; ++k) {
    const double angle = k * std::numbers::pi / 8, c = std::cos(angle), s = std::sin(angle);
    OneSidedCost::Row row{Eigen::RowVectorXd::Zero(body.size), wear, growth};
    row.row[0] = c * c;
    row.row[1] = s * s;
    if (body.field.stretch_size() > 2) row.row[2] = 2 * c * s;
    row.row /= std::sqrt(3.0);  // the eight cos^4 add up to 3
    rows.push_back(std::move(row));
  }
  return rows;
}

IntervalCost::IntervalCost(BodyInterval interval, double sigma, Eigen::Index size_a, Eigen::Index size_b)
    : interval_(std::move(interval)), sigma_(sigma), same_body_(interval_.a.body == interval_.b.body) {
  set_num_residuals(1);
  mutable_parameter_block_sizes()->push_back(static_cast<int>(size_a));
  if (!same_body_) mutable_parameter_block_sizes()->push_back(static_cast<int>(size_b));
}

bool IntervalCost::Evaluate(double const* const* parameters, double* residuals, double** jacobians) const {
  const int last = same_body_ ? 0 : 1;
  double *gradient_a = nullptr, *gradient_b = nullptr;
  if (jacobians) {
    gradient_a = jacobians[0];
    gradient_b = jacobians[last];
    for (int i = 0; i <= last; ++i)
      if (jacobians[i]) std::fill_n(jacobians[i], parameter_block_sizes()[static_cast<std::size_t>(i)], 0.0);
  }
  const double a = length_of(interval_.a, parameters[0], 1 / sigma_, gradient_a);
  const double b = length_of(interval_.b, parameters[last], -1 / sigma_, gradient_b);
  residuals[0] = (a - b - interval_.wanted) / sigma_;
  return true;
}

}  // namespace chalkfold::draft
