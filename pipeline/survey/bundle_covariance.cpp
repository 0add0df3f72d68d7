// SPDX-License-Identifier: Apache-2.0
#include <Eigen/Dense>
#include <Eigen/Sparse>
#include <functional>
#include <optional>

#include "pipeline/survey/bundle.h"
#include "pipeline/survey/bundle_blocks.h"

namespace chalkfold::survey {
namespace {

/// Inverse of the normal matrix over all free parameters, with the first column of each block in `offsets`.
struct FullCovariance {
  Eigen::MatrixXd matrix;
  std::vector<double*> blocks;
  std::vector<int> offsets;
  int offset_of(const double* block) const {
    for (std::size_t i = 0; i < blocks.size(); ++i) {
      if (blocks[i] == block) return offsets[i];
    }
    return -1;
  }
};

std::optional<FullCovariance> invert_normal_matrix(ceres::Problem& problem, const std::vector<double*>& in_order) {
  FullCovariance full;
  ceres::Problem::EvaluateOptions options;
  int columns = 0;
  for (double* block :
       in_order) {  // Ceres lists its blocks by address, which differs from run to run, and with it the rounding
    if (!problem.HasParameterBlock(block) || problem.IsParameterBlockConstant(block)) continue;
    full.blocks.push_back(block);
    full.offsets.push_back(columns);
    columns += problem.ParameterBlockTangentSize(block);
  }
  options.parameter_blocks = full.blocks;
  ceres::CRSMatrix crs;
  problem.Evaluate(options, nullptr, nullptr, nullptr, &crs);
  Eigen::MatrixXd normal = Eigen::MatrixXd::Zero(columns, columns);
  for (int row = 0; row < crs.num_rows; ++row) {
    for (int i = crs.rows[static_cast<std::size_t>(row)]; i < crs.rows[static_cast<std::size_t>(row) + 1]; ++i) {
      for (int j = crs.rows[static_cast<std::size_t>(row)]; j < crs.rows[static_cast<std::size_t>(row) + 1]; ++j) {
        normal(crs.cols[static_cast<std::size_t>(i)], crs.cols[static_cast<std::size_t>(j)]) +=
            crs.values[static_cast<std::size_t>(i)] * crs.values[static_cast<std::size_t>(j)];
      }
    }
  }
  // Columns differ by ten orders of magnitude (px against distortion terms): scale to a unit diagonal before factorising.
  const Eigen::VectorXd scale = normal.diagonal().cwiseSqrt().cwiseMax(1e-150).cwiseInverse();
  const Eigen::LDLT<Eigen::MatrixXd> ldlt(scale.asDiagonal() * normal * scale.asDiagonal());
  if (ldlt.info() != Eigen::Success || !(ldlt.vectorD().minCoeff() > 1e-14)) return std::nullopt;
  full.matrix = scale.asDiagonal() * ldlt.solve(Eigen::MatrixXd::Identity(columns, columns)) * scale.asDiagonal();
  return full;
}

/// Tangent column of element k of a block, or -1 when it is held.
int column_of(const ceres::Problem& problem, const FullCovariance& full, double* block, int k,
              const std::function<bool(int)>& held) {
  const int offset = full.offset_of(block);
  if (offset < 0 || held(k)) return -1;
  int column = offset;
  for (int j = 0; j < k; ++j) column += !held(j);
  (void)problem;
  return column;
}

}  // namespace

BundleCovariances bundle_covariances(const Bundle& bundle) {
  Blocks blocks(bundle);
  blocks.hold(bundle, BundleStage::all);
  const auto full = invert_normal_matrix(blocks.problem(), blocks.in_order());
  BundleCovariances out;
  if (!full) return out;
  const auto print_held = [&](int k) { return bundle.print_scale_sigma[k] <= 0; };
  std::array<int, 2> print_column{};
  for (int k = 0; k < 2; ++k)
    print_column[static_cast<std::size_t>(k)] = column_of(blocks.problem(), *full, blocks.print(), k, print_held);
  for (int a = 0; a < 2; ++a) {
    for (int b = 0; b < 2; ++b) {
      const int row = print_column[static_cast<std::size_t>(a)], column = print_column[static_cast<std::size_t>(b)];
      if (row >= 0 && column >= 0) out.print_scale(a, b) = full->matrix(row, column);
    }
  }
  for (std::size_t l = 0; l < bundle.lenses.size(); ++l) {
    const auto held = [&](int k) { return bundle.lenses[l].fixed[static_cast<std::size_t>(k)]; };
    std::array<int, 8> column{};
    for (std::size_t i = 0; i < column.size(); ++i)
      column[i] = column_of(blocks.problem(), *full, blocks.lens(l), BundleLens::free_order[i], held);
    Eigen::Matrix<double, 8, 8> own = Eigen::Matrix<double, 8, 8>::Zero();
    for (std::size_t i = 0; i < column.size(); ++i)
      for (std::size_t j = 0; j < column.size(); ++j)
        if (column[i] >= 0 && column[j] >= 0)
          own(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)) = full->matrix(column[i], column[j]);
    out.lenses.push_back(own);
  }
  std::vector<Eigen::Triplet<double>> all_rows;  // few of a photo's parameters depend on more than two unknowns
  for (std::size_t i = 0; i < bundle.photos.size(); ++i) {
    const auto lens_index = static_cast<std::size_t>(bundle.photos[i].lens);
    const BundleLens& lens = bundle.lenses[lens_index];
    const auto lens_held = [&](int k) { return lens.fixed[static_cast<std::size_t>(k)]; };
    const auto photo_held = [&](int k) {
      return (k == 6 && bundle.breathing_sigma <= 0) || (k > 6 && bundle.stabiliser_sigma_px <= 0);
    };
    const int first = 14 * static_cast<int>(i);
    // Effective parameter `row` as a linear combination of free columns.
    const auto add = [&](int row, double* block, int k, const std::function<bool(int)>& held, double factor) {
      const int column = column_of(blocks.problem(), *full, block, k, held);
      if (column >= 0) all_rows.emplace_back(first + row, column, factor);
    };
    for (int k = 0; k < 6; ++k) add(k, blocks.photo(i), k, photo_held, 1);
    add(6, blocks.lens(lens_index), BundleLens::focal, lens_held, 1 + bundle.photos[i].focal_change);
    add(6, blocks.photo(i), 6, photo_held, lens.value[BundleLens::focal]);
    add(7, blocks.lens(lens_index), BundleLens::centre_x, lens_held, 1);
    add(7, blocks.photo(i), 7, photo_held, 1);
    add(8, blocks.lens(lens_index), BundleLens::centre_y, lens_held, 1);
    add(8, blocks.photo(i), 8, photo_held, 1);
    for (int k = 0; k < 5; ++k) add(9 + k, blocks.lens(lens_index), BundleLens::k1 + k, lens_held, 1);
  }
  Eigen::SparseMatrix<double> rows(14 * static_cast<Eigen::Index>(bundle.photos.size()), full->matrix.rows());
  rows.setFromTriplets(all_rows.begin(), all_rows.end());
  const Eigen::MatrixXd half = rows * full->matrix;
  out.joint = half * rows.transpose();
  for (std::size_t i = 0; i < bundle.photos.size(); ++i)
    out.photos.emplace_back(
        out.joint.block<14, 14>(14 * static_cast<Eigen::Index>(i), 14 * static_cast<Eigen::Index>(i)));
  return out;
}

}  // namespace chalkfold::survey
