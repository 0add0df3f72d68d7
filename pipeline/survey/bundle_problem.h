// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>
#include <array>
#include <optional>
#include <vector>

#include "calib/lens.h"
#include "pipeline/geometry/point.h"

namespace chalkfold::survey {

/// Shared lens of one phone. Parameters in this order: focal_px, aspect (fy / fx), skew_px, centre x, centre y, k1, k2, p1, p2, k3.
struct BundleLens {
  static constexpr int size = 10;
  enum Index { focal, aspect, skew, centre_x, centre_y, k1, k2, p1, p2, k3 };
  std::array<double, size> value{};
  std::array<bool, size> fixed{false, true, true, false, false, false, false, false, false, false};
  /// prior mean
  std::array<double, size> prior{};
  /// 0 means no prior
  std::array<double, size> prior_sigma{};
  /// Priors on the relative radial displacement k1 r2 + k2 r4 + k3 r6 at given ideal radii.
  struct RadialPrior {
    double radius, mean, sigma;
  };
  std::vector<RadialPrior> radial_priors;
  /// Prior of focal, centre and distortion together (a profile): weight * (free values - mean) has unit covariance. Order as free_order.
  struct JointPrior {
    Eigen::Matrix<double, 8, 1> mean;
    Eigen::Matrix<double, 8, 8> weight;
  };
  std::optional<JointPrior> joint_prior;
  static constexpr std::array<int, 8> free_order{focal, centre_x, centre_y, k1, k2, p1, p2, k3};
};

/// One photo. Rotation is held outside the solver and updated by small turns, so that its covariance is a left tangent (TableView::Solution).
struct BundlePhoto {
  int lens = 0;
  int setup = 0;
  calib::Pose pose;
  /// relative
  double focal_change = 0;
  /// px
  Vec2 centre_shift = Vec2::Zero();
};

/// A sheet as it lies in one setup.
struct BundleBoard {
  int setup = 0;
  int number = 0;
  Vec2 centre = Vec2::Zero();
  double theta = 0;
  /// holds the setup's frame
  bool fixed = false;
};

struct BundleObservation {
  int photo = 0, board = 0;
  /// mm in the board's frame, before print scale
  Vec2 on_board;
  /// px
  Vec2 at_in_sensor;
  double sigma_px = 0.1;
  /// free for the caller
  int tag = 0;
};

struct BundleTape {
  int board_a = 0, board_b = 0;
  double mm = 0, sigma_mm = 0.5;
};

struct Bundle {
  std::vector<BundleLens> lenses;
  std::vector<BundlePhoto> photos;
  std::vector<BundleBoard> boards;
  std::vector<BundleObservation> observations;
  std::vector<BundleTape> tape;
  Vec2 print_scale = Vec2::Ones();
  Vec2 print_scale_prior = Vec2::Ones();
  /// 0 holds that axis at its value; infinity leaves it to the two priors below
  Vec2 print_scale_sigma = Vec2::Zero();
  /// prior of the axes' mean about the mean of print_scale_prior; 0: none
  double print_common_sigma = 0;
  /// prior of x minus y about that of print_scale_prior; 0: none
  double print_difference_sigma = 0;
  /// prior of focal_change; 0 holds it
  double breathing_sigma = 0.01;
  /// prior of centre_shift; 0 holds it
  double stabiliser_sigma_px = 10;
  /// Huber width; 0 for plain least squares
  double robust_sigmas = 3;
};

/// Which unknowns a solution may move.
enum class BundleStage {
  /// poses and boards, lens and print scale held: the start
  poses,
  all,
};

}  // namespace chalkfold::survey
