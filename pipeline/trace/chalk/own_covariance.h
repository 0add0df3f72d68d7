// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>
#include <vector>

namespace chalkfold::trace {

/// Covariance of a material's own variation about 0, with what lies far out (strokes, holes, cuts) left aside; `floor`, one standard deviation in
/// every channel, is added.
Eigen::Matrix3d own_covariance(const std::vector<Eigen::Vector3d>& samples, double floor);

}  // namespace chalkfold::trace
