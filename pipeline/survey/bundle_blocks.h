// SPDX-License-Identifier: Apache-2.0
#pragma once

// The bundle's residuals and unknowns as Ceres wants them; for bundle.cpp and bundle_covariance.cpp alone.

#include <ceres/ceres.h>
#include <ceres/rotation.h>

#include <array>
#include <cmath>
#include <vector>

#include "pipeline/survey/bundle_problem.h"

namespace chalkfold::survey {

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
    calib::distort(lens + BundleLens::k1, x, y, xd, yd);
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

struct JointPriorCost {
  BundleLens::JointPrior prior;
  template <class T>
  bool operator()(const T* lens, T* residual) const {
    for (int i = 0; i < 8; ++i) {
      residual[i] = T(0);
      for (int j = 0; j < 8; ++j)
        residual[i] += prior.weight(i, j) * (lens[BundleLens::free_order[static_cast<std::size_t>(j)]] - prior.mean[j]);
    }
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
    if (lens_model.joint_prior)
      problem_.AddResidualBlock(new ceres::AutoDiffCostFunction<JointPriorCost, 8, BundleLens::size>(
                                    new JointPriorCost{*lens_model.joint_prior}),
                                nullptr, block);
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

}  // namespace chalkfold::survey
