// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>
#include <optional>
#include <vector>

#include "calib/lens.h"
#include "pipeline/common/fault.h"
#include "pipeline/survey/table_view.h"

namespace chalkfold::survey {

/// The solved job: a view per sighting that could be used, in the order given.
struct Survey {
  /// one per sighting
  std::vector<std::optional<TableView>> views;
  /// where in `joint` a sighting's parameters begin; -1: nowhere
  std::vector<int> joint_of_sighting;
  /// covariance of all views' parameters (TableView::parameters each), what is uncertain in common included
  Eigen::MatrixXd joint;
  /// one per phone
  std::vector<calib::Lens> lenses;
  /// of each, in LensProfile's order
  std::vector<Eigen::Matrix<double, 8, 8>> lens_covariances;
  std::vector<int> phone_of_sighting;
  /// of each phone
  std::vector<bool> profile_used;
  std::vector<int> setup_of_sighting;
  double print_scale_x = 1, print_scale_y = 1;
  /// relative, of the less certain axis, after all that was measured is in: bars, tapes, the photos
  double print_scale_sigma = 0;
  double reprojection_rms_px = 0;
  Faults faults;
};

}  // namespace chalkfold::survey
