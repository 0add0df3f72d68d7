// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>
#include <array>
#include <optional>
#include <string>
#include <vector>

#include "calib/lens.h"
#include "pipeline/geometry/point.h"
#include "pipeline/survey/bundle_problem.h"

namespace chalkfold::survey {

// The least-squares core of the survey: flat boards of known points on one plane a setup, seen by cameras that share lenses. Frames are sensor frames here.

struct BundleResult {
  bool ok = false;
  /// when not ok
  std::string why;
  /// per point (square root of mean dx2 + dy2), unweighted
  double rms_px = 0;
  /// half the sum of squared weighted residuals, priors in
  double cost = 0;
  int iterations = 0;
};

/// Minimises in place by Levenberg-Marquardt (Ceres Solver), automatic derivatives.
BundleResult solve_bundle(Bundle& bundle, BundleStage stage);

/// Residual of one observation: observed minus predicted, px.
Vec2 bundle_residual(const Bundle& bundle, const BundleObservation& observation);

struct BundleCovariances {
  /// of each photo's effective parameters in TableView::Solution's order (focal etc. of that photo)
  std::vector<Eigen::Matrix<double, 14, 14>> photos;
  /// of each lens, in free_order
  std::vector<Eigen::Matrix<double, 8, 8>> lenses;
  /// of all photos' effective parameters, 14 a photo, in turn
  Eigen::MatrixXd joint;
  Mat2 print_scale = Mat2::Zero();
};

/// From the inverse of the normal matrix at the solution, robust weights and priors in. No photos when the normal matrix is singular.
BundleCovariances bundle_covariances(const Bundle& bundle);

/// Lens of one photo with its own focal change and centre shift. Precondition: aspect 1 and skew 0.
calib::Lens effective_lens(const Bundle& bundle, int photo, int width, int height);

/// Pose of a camera (sensor frame) from points of the z = 0 plane and their ideal image coordinates, by homography
/// (Z. Zhang, "A flexible new technique for camera calibration", 2000, section 3.1). Precondition: four or more points, not on a line.
calib::Pose pose_from_plane(const Polyline& on_plane, const Polyline& ideal);

}  // namespace chalkfold::survey
