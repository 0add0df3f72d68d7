// SPDX-License-Identifier: Apache-2.0
#include "pipeline/survey/bundle.h"

#include <ceres/ceres.h>
#include <ceres/rotation.h>

#include <Eigen/Dense>
#include <Eigen/Sparse>
#include <functional>
#include <memory>
#include <optional>
#include <stdexcept>

namespace chalkfold {
namespace {

using Photo9 = std::array<double, 9>;  // small turn (3), translation (3), focal change, centre shift (2)
using Board3 = std::array<double, 3>;  // centre, theta

/// Projects a board point. Blocks: lens (10), photo (9), board (3), print scale (2).
struct ReprojectionCost {
  Mat3 rotation;
  Vec2 on_board, at_in_sensor;
  double sigma;

  template <class T>
  bool operator()(const T* lens, const T* photo, const T* board, const T* print, T* residual) const {
    using std::cos;
    using std::sin;
    const T u = print[0] * on_board.x(), v = print[1] * on_board.y();
    const T c = cos(board[2]), s = sin(board[2]);
    const T table[2] = {c * u - s * v + board[0], s * u + c * v + board[1]};
    const T turned[3] = {rotation(0, 0) * table[0] + rotation(0, 1) * table[1],
                         rotation(1, 0) * table[0] + rotation(1, 1) * table[1],
                         rotation(2, 0) * table[0] + rotation(2, 1) * table[1]};
    T camera[3];
    ceres::AngleAxisRotatePoint(photo, turned, camera);
    for (int i = 0; i < 3; ++i) camera[i] += photo[3 + i];
    const T x = camera[0] / camera[2], y = camera[1] / camera[2];
    T xd, yd;
    distort(lens + BundleLens::k1, x, y, xd, yd);
    const T f = lens[BundleLens::focal] * (T(1) + photo[6]);
    const T px = f * xd + lens[BundleLens::skew] * yd + lens[BundleLens::centre_x] + photo[7];
    const T py = f * lens[BundleLens::aspect] * yd + lens[BundleLens::centre_y] + photo[8];
    residual[0] = (px - at_in_sensor.x()) / sigma;
    residual[1] = (py - at_in_sensor.y()) / sigma;
    return true;
  }
};

/// (block[index] - mean) / sigma for a block of N values.
template <int N>
struct PriorCost {
  int index;
  double mean, sigma;
  template <class T>
  bool operator()(const T* block, T* residual) const {
    residual[0] = (block[index] - mean) / sigma;
    return true;
  }
  static ceres::CostFunction* make(int index, double mean, double sigma) {
    return new ceres::AutoDiffCostFunction<PriorCost, 1, N>(new PriorCost{index, mean, sigma});
  }
};

/// (a weighted sum of the two print scales - mean) / sigma.
struct PrintPriorCost {
  Vec2 weight;
  double mean, sigma;
  template <class T>
  bool operator()(const T* print, T* residual) const {
    residual[0] = (weight.x() * print[0] + weight.y() * print[1] - mean) / sigma;
    return true;
  }
};

struct RadialPriorCost {
  BundleLens::RadialPrior prior;
  template <class T>
  bool operator()(const T* lens, T* residual) const {
    const double r2 = prior.radius * prior.radius;
    residual[0] = (r2 * (lens[BundleLens::k1] + r2 * (lens[BundleLens::k2] + r2 * lens[BundleLens::k3])) - prior.mean) /
                  prior.sigma;
    return true;
  }
};

struct TapeCost {
  double mm, sigma;
  template <class T>
  bool operator()(const T* a, const T* b, T* residual) const {
    using std::sqrt;
    const T dx = a[0] - b[0], dy = a[1] - b[1];
    residual[0] = (sqrt(dx * dx + dy * dy) - mm) / sigma;
    return true;
  }
};

/// The solver's blocks, copied from a Bundle and back. Problem pointers refer into it, so it does not move.
class Blocks {
 public:
  explicit Blocks(const Bundle& bundle) : print_{bundle.print_scale.x(), bundle.print_scale.y()} {
    for (const BundleLens& l : bundle.lenses) lenses_.push_back(l.value);
    for (const BundlePhoto& p : bundle.photos) {
      photos_.push_back({0, 0, 0, p.pose.translation.x(), p.pose.translation.y(), p.pose.translation.z(),
                         p.focal_change, p.centre_shift.x(), p.centre_shift.y()});
    }
    for (const BundleBoard& b : bundle.boards) boards_.push_back({b.centre.x(), b.centre.y(), b.theta});
    build(bundle);
  }
  Blocks(const Blocks&) = delete;
  Blocks& operator=(const Blocks&) = delete;

  ceres::Problem& problem() { return problem_; }
  double* lens(std::size_t i) { return lenses_[i].data(); }
  double* photo(std::size_t i) { return photos_[i].data(); }
  double* print() { return print_.data(); }

  /// Every block, in an order that depends on the bundle alone.
  std::vector<double*> in_order() {
    std::vector<double*> blocks;
    for (auto& b : lenses_) blocks.push_back(b.data());
    for (auto& b : photos_) blocks.push_back(b.data());
    for (auto& b : boards_) blocks.push_back(b.data());
    blocks.push_back(print_.data());
    return blocks;
  }

  void hold(const Bundle& bundle, BundleStage stage) {
    const bool all = stage == BundleStage::all;
    for (std::size_t i = 0; i < lenses_.size(); ++i)
      hold_some(lens(i), BundleLens::size,
                [&](int k) { return !all || bundle.lenses[i].fixed[static_cast<std::size_t>(k)]; });
    for (std::size_t i = 0; i < photos_.size(); ++i) {
      hold_some(photo(i), 9, [&](int k) {
        return (k == 6 && (!all || bundle.breathing_sigma <= 0)) ||
               (k > 6 && (!all || bundle.stabiliser_sigma_px <= 0));
      });
    }
    for (std::size_t i = 0; i < boards_.size(); ++i) {
      if (bundle.boards[i].fixed && problem_.HasParameterBlock(boards_[i].data()))
        problem_.SetParameterBlockConstant(boards_[i].data());
    }
    hold_some(print_.data(), 2, [&](int k) { return !all || bundle.print_scale_sigma[k] <= 0; });
  }

  void copy_back(Bundle& bundle) const {
    for (std::size_t i = 0; i < lenses_.size(); ++i) bundle.lenses[i].value = lenses_[i];
    for (std::size_t i = 0; i < photos_.size(); ++i) {
      BundlePhoto& p = bundle.photos[i];
      Mat3 turn;
      ceres::AngleAxisToRotationMatrix(photos_[i].data(), turn.data());  // column-major, as Eigen's
      p.pose.rotation = turn * p.pose.rotation;
      p.pose.translation = Vec3(photos_[i][3], photos_[i][4], photos_[i][5]);
      p.focal_change = photos_[i][6];
      p.centre_shift = Vec2(photos_[i][7], photos_[i][8]);
    }
    for (std::size_t i = 0; i < boards_.size(); ++i) {
      bundle.boards[i].centre = Vec2(boards_[i][0], boards_[i][1]);
      bundle.boards[i].theta = boards_[i][2];
    }
    bundle.print_scale = Vec2(print_[0], print_[1]);
  }

 private:
  template <class Held>
  void hold_some(double* block, int size, Held held) {
    if (!problem_.HasParameterBlock(block)) return;
    std::vector<int> constant;
    for (int k = 0; k < size; ++k) {
      if (held(k)) constant.push_back(k);
    }
    if (static_cast<int>(constant.size()) == size)
      problem_.SetParameterBlockConstant(block);
    else if (!constant.empty())
      problem_.SetManifold(block, new ceres::SubsetManifold(size, constant));
  }

  void build(const Bundle& bundle) {
    for (const BundleObservation& o : bundle.observations) {
      auto* cost = new ceres::AutoDiffCostFunction<ReprojectionCost, 2, BundleLens::size, 9, 3, 2>(new ReprojectionCost{
          bundle.photos[static_cast<std::size_t>(o.photo)].pose.rotation, o.on_board, o.at_in_sensor, o.sigma_px});
      problem_.AddResidualBlock(cost, bundle.robust_sigmas > 0 ? new ceres::HuberLoss(bundle.robust_sigmas) : nullptr,
                                lens(static_cast<std::size_t>(bundle.photos[static_cast<std::size_t>(o.photo)].lens)),
                                photo(static_cast<std::size_t>(o.photo)),
                                boards_[static_cast<std::size_t>(o.board)].data(), print_.data());
    }
    for (std::size_t i = 0; i < lenses_.size(); ++i) add_lens_priors(bundle.lenses[i], lens(i));
    for (std::size_t i = 0; i < photos_.size(); ++i) {
      if (bundle.breathing_sigma > 0)
        problem_.AddResidualBlock(PriorCost<9>::make(6, 0, bundle.breathing_sigma), nullptr, photo(i));
      if (bundle.stabiliser_sigma_px > 0) {
        problem_.AddResidualBlock(PriorCost<9>::make(7, 0, bundle.stabiliser_sigma_px), nullptr, photo(i));
        problem_.AddResidualBlock(PriorCost<9>::make(8, 0, bundle.stabiliser_sigma_px), nullptr, photo(i));
      }
    }
    add_print_prior(bundle, Vec2(1, 0), bundle.print_scale_sigma.x());
    add_print_prior(bundle, Vec2(0, 1), bundle.print_scale_sigma.y());
    add_print_prior(bundle, Vec2(0.5, 0.5), bundle.print_common_sigma);
    add_print_prior(bundle, Vec2(1, -1), bundle.print_difference_sigma);
    for (const BundleTape& t : bundle.tape) {
      problem_.AddResidualBlock(new ceres::AutoDiffCostFunction<TapeCost, 1, 3, 3>(new TapeCost{t.mm, t.sigma_mm}),
                                nullptr, boards_[static_cast<std::size_t>(t.board_a)].data(),
                                boards_[static_cast<std::size_t>(t.board_b)].data());
    }
  }

  void add_print_prior(const Bundle& bundle, const Vec2& weight, double sigma) {
    if (!(sigma > 0) || std::isinf(sigma)) return;
    auto* cost = new PrintPriorCost{weight, weight.dot(bundle.print_scale_prior), sigma};
    problem_.AddResidualBlock(new ceres::AutoDiffCostFunction<PrintPriorCost, 1, 2>(cost), nullptr, print_.data());
  }

  void add_lens_priors(const BundleLens& lens_model, double* block) {
    for (int k = 0; k < BundleLens::size; ++k) {
      const auto i = static_cast<std::size_t>(k);
      if (lens_model.prior_sigma[i] > 0)
        problem_.AddResidualBlock(PriorCost<BundleLens::size>::make(k, lens_model.prior[i], lens_model.prior_sigma[i]),
                                  nullptr, block);
    }
    for (const auto& prior : lens_model.radial_priors) {
      problem_.AddResidualBlock(
          new ceres::AutoDiffCostFunction<RadialPriorCost, 1, BundleLens::size>(new RadialPriorCost{prior}), nullptr,
          block);
    }
  }

  std::vector<std::array<double, BundleLens::size>> lenses_;
  std::vector<Photo9> photos_;
  std::vector<Board3> boards_;
  std::array<double, 2> print_;
  ceres::Problem problem_;
};

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

BundleResult solve_bundle(Bundle& bundle, BundleStage stage) {
  BundleResult result;
  Blocks blocks(bundle);
  blocks.hold(bundle, stage);
  ceres::Solver::Options options;
  options.linear_solver_type = bundle.photos.size() > 4 ? ceres::DENSE_SCHUR : ceres::DENSE_QR;
  options.max_num_iterations = 200;
  options.function_tolerance = 1e-15;
  options.gradient_tolerance = 1e-14;
  options.parameter_tolerance = 1e-13;
  options.num_threads = 1;  // the order of sums must not depend on the machine
  options.logging_type = ceres::SILENT;
  ceres::Solver::Summary summary;
  ceres::Solve(options, &blocks.problem(), &summary);
  if (!summary.IsSolutionUsable()) {
    result.why = summary.message;
    return result;
  }
  blocks.copy_back(bundle);
  double sum = 0;
  for (const BundleObservation& o : bundle.observations) sum += bundle_residual(bundle, o).squaredNorm();
  result.ok = true;
  result.rms_px = std::sqrt(sum / std::max<double>(1, static_cast<double>(bundle.observations.size())));
  result.cost = summary.final_cost;
  result.iterations = static_cast<int>(summary.iterations.size());
  return result;
}

Vec2 bundle_residual(const Bundle& bundle, const BundleObservation& o) {
  const BundlePhoto& p = bundle.photos[static_cast<std::size_t>(o.photo)];
  const BundleBoard& b = bundle.boards[static_cast<std::size_t>(o.board)];
  const Photo9 photo{0,
                     0,
                     0,
                     p.pose.translation.x(),
                     p.pose.translation.y(),
                     p.pose.translation.z(),
                     p.focal_change,
                     p.centre_shift.x(),
                     p.centre_shift.y()};
  const Board3 board{b.centre.x(), b.centre.y(), b.theta};
  const double print[2] = {bundle.print_scale.x(), bundle.print_scale.y()};
  Vec2 difference;
  ReprojectionCost{p.pose.rotation, o.on_board, o.at_in_sensor, 1.0}(
      bundle.lenses[static_cast<std::size_t>(p.lens)].value.data(), photo.data(), board.data(), print,
      difference.data());
  return -difference;
}

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

Lens effective_lens(const Bundle& bundle, int photo, int width, int height) {
  const BundlePhoto& p = bundle.photos[static_cast<std::size_t>(photo)];
  const auto& v = bundle.lenses[static_cast<std::size_t>(p.lens)].value;
  if (v[BundleLens::aspect] != 1 || v[BundleLens::skew] != 0)
    throw std::logic_error("effective_lens: a lens with aspect or skew has no place in a TableView");
  Lens lens;
  lens.width = width;
  lens.height = height;
  lens.focal_px = v[BundleLens::focal] * (1 + p.focal_change);
  lens.centre_x_px = v[BundleLens::centre_x] + p.centre_shift.x();
  lens.centre_y_px = v[BundleLens::centre_y] + p.centre_shift.y();
  lens.k1 = v[BundleLens::k1];
  lens.k2 = v[BundleLens::k2];
  lens.p1 = v[BundleLens::p1];
  lens.p2 = v[BundleLens::p2];
  lens.k3 = v[BundleLens::k3];
  return lens;
}

Pose pose_from_plane(const Polyline& on_plane, const Polyline& ideal) {
  // Direct linear transform with both sides brought to unit spread (R. Hartley, "In defense of the eight-point algorithm", 1997).
  const auto normaliser = [](const Polyline& points) {
    Vec2 mean = Vec2::Zero();
    for (const Vec2& p : points) mean += p / static_cast<double>(points.size());
    double spread = 0;
    for (const Vec2& p : points) spread += (p - mean).norm() / static_cast<double>(points.size());
    Mat3 t = Mat3::Identity();
    t(0, 0) = t(1, 1) = 1 / spread;
    t.topRightCorner<2, 1>() = -mean / spread;
    return t;
  };
  const Mat3 tp = normaliser(on_plane), ti = normaliser(ideal);
  Eigen::MatrixXd a = Eigen::MatrixXd::Zero(2 * static_cast<Eigen::Index>(on_plane.size()), 9);
  for (std::size_t i = 0; i < on_plane.size(); ++i) {
    const Vec3 p = tp * on_plane[i].homogeneous();
    const Vec2 q = (ti * ideal[i].homogeneous()).head<2>();
    const auto r = 2 * static_cast<Eigen::Index>(i);
    a.block<1, 3>(r, 0) = p.transpose();
    a.block<1, 3>(r, 6) = -q.x() * p.transpose();
    a.block<1, 3>(r + 1, 3) = p.transpose();
    a.block<1, 3>(r + 1, 6) = -q.y() * p.transpose();
  }
  const Eigen::JacobiSVD<Eigen::MatrixXd> svd(a, Eigen::ComputeFullV);
  const Eigen::Matrix<double, 9, 1> h = svd.matrixV().col(8);
  Mat3 hn;
  hn << h.segment<3>(0).transpose(), h.segment<3>(3).transpose(), h.segment<3>(6).transpose();
  Mat3 plane_to_ideal = ti.inverse() * hn * tp;
  const double scale = 0.5 * (plane_to_ideal.col(0).norm() + plane_to_ideal.col(1).norm());
  plane_to_ideal /= plane_to_ideal(2, 2) > 0 ? scale : -scale;  // the plane's origin lies in front of the camera
  Mat3 r;
  r.col(0) = plane_to_ideal.col(0);
  r.col(1) = plane_to_ideal.col(1);
  r.col(2) = r.col(0).cross(r.col(1));
  const Eigen::JacobiSVD<Mat3> nearest(r, Eigen::ComputeFullU | Eigen::ComputeFullV);
  Pose pose;
  pose.rotation = nearest.matrixU() * nearest.matrixV().transpose();
  pose.translation = plane_to_ideal.col(2);
  return pose;
}

}  // namespace chalkfold
