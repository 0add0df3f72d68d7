// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>
#include <vector>

#include "pipeline/geometry/polygon.h"
#include "pipeline/survey/table_view.h"

namespace chalkfold::survey {

/// One photo's share in a panel that several photos show.
struct SharedView {
  const TableView* view = nullptr;
  /// the view's table frame from the frame that the panel's points are in
  geometry::Rigid2 table_from_panel;
  /// views with the same number were laid on the panel's frame by one motion: those of one setup
  int frame = 0;
  /// of each point, 0..1
  std::vector<double> weights;
};

struct JointShape {
  /// mm, standard deviation of each point along its normal once the outline's rigid motion is removed, from survey and height: as
  /// TableView::shape_sigma, for a weighted mean over views whose errors belong together.
  std::vector<double> sigma;
  /// One row a view: mm, standard deviation along the normal of that view's point from the weighted mean's, from survey and height alone; 0 where its weight is 0.
  std::vector<std::vector<double>> apart;
};

/// `joint`: covariance of all the views' parameters (TableView::Solution's order, view after view). points in the panel's frame, normals unit, face at `height`.
/// Every frame's own rigid motion is removed first, as laying outlines on each other does. Precondition: sizes agree.
JointShape joint_shape(const std::vector<SharedView>& views, const Eigen::MatrixXd& joint, const Polyline& points,
                       const Polyline& normals, double height, double height_sigma);

}  // namespace chalkfold::survey
