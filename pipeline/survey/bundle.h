// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>
#include <array>
#include <optional>
#include <string>
#include <vector>

#include "calib/lens.h"
#include "pipeline/geometry/point.h"

namespace chalkfold {

// The least-squares core of the survey: flat boards of known points on one plane a setup, seen by cameras that share lenses. Frames are sensor frames here.

/// Shared lens of one phone. Parameters in this order: focal_px, aspect (fy / fx), skew_px, centre x, centre y, k1, k2, p1, p2, k3.
struct BundleLens {
  static constexpr int size = 10;
  enum Index { focal, aspect, skew, centre_x, centre_y, k1, k2, p1, p2, k3 };
  std::array<double, size> value{};
  std::array<bool, size> fixed{false, true, true, false, false, false, false, false, false, false};
  std::array<double, size> prior{};        ///< prior mean
  std::array<double, size> prior_sigma{};  ///< 0 means no prior
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
  Pose pose;
  double focal_change = 0;           ///< relative
  Vec2 centre_shift = Vec2::Zero();  ///< px
};

/// A sheet as it lies in one setup.
struct BundleBoard {
  int setup = 0;
  int number = 0;
  Vec2 centre = Vec2::Zero();
  double theta = 0;
  bool fixed = false;  ///< holds the setup's frame
};

struct BundleObservation {
  int photo = 0, board = 0;
  Vec2 on_board;      ///< mm in the board's frame, before print scale
  Vec2 at_in_sensor;  ///< px
  double sigma_px = 0.1;
  int tag = 0;  ///< free for the caller
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
  Vec2 print_scale_sigma =
      Vec2::Zero();                   ///< 0 holds that axis at its value; infinity leaves it to the two priors below
  double print_common_sigma = 0;      ///< prior of the axes' mean about the mean of print_scale_prior; 0: none
  double print_difference_sigma = 0;  ///< prior of x minus y about that of print_scale_prior; 0: none
  double breathing_sigma = 0.01;      ///< prior of focal_change; 0 holds it
  double stabiliser_sigma_px = 10;    ///< prior of centre_shift; 0 holds it
  double robust_sigmas = 3;           ///< Huber width; 0 for plain least squares
};

/// Which unknowns a solution may move.
enum class BundleStage {
  poses,  ///< poses and boards, lens and print scale held: the start
  all,
};

struct BundleResult {
  bool ok = false;
  std::string why;    ///< when not ok
  double rms_px = 0;  ///< per point (square root of mean dx2 + dy2), unweighted
  double cost = 0;    ///< half the sum of squared weighted residuals, priors in
  int iterations = 0;
};

/// Minimises in place by Levenberg-Marquardt (Ceres Solver), automatic derivatives.
BundleResult solve_bundle(Bundle& bundle, BundleStage stage);

/// Residual of one observation: observed minus predicted, px.
Vec2 bundle_residual(const Bundle& bundle, const BundleObservation& observation);

struct BundleCovariances {
  std::vector<Eigen::Matrix<double, 14, 14>>
      photos;  ///< of each photo's effective parameters in TableView::Solution's order (focal etc. of that photo)
  std::vector<Eigen::Matrix<double, 8, 8>> lenses;  ///< of each lens, in free_order
  Eigen::MatrixXd joint;                            ///< of all photos' effective parameters, 14 a photo, in turn
  Mat2 print_scale = Mat2::Zero();
};

/// From the inverse of the normal matrix at the solution, robust weights and priors in. No photos when the normal matrix is singular.
BundleCovariances bundle_covariances(const Bundle& bundle);

/// Lens of one photo with its own focal change and centre shift. Precondition: aspect 1 and skew 0.
Lens effective_lens(const Bundle& bundle, int photo, int width, int height);

/// Pose of a camera (sensor frame) from points of the z = 0 plane and their ideal image coordinates, by homography
/// (Z. Zhang, "A flexible new technique for camera calibration", 2000, section 3.1). Precondition: four or more points, not on a line.
Pose pose_from_plane(const Polyline& on_plane, const Polyline& ideal);

}  // namespace chalkfold
