// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>
#include <vector>

namespace chalkfold::geometry {

using Vec2 = Eigen::Vector2d;
using Vec3 = Eigen::Vector3d;
using Mat2 = Eigen::Matrix2d;
using Mat3 = Eigen::Matrix3d;

/// Points in order, mm unless the name says px. Closed polylines do not repeat their first point.
using Polyline = std::vector<Vec2>;

}  // namespace chalkfold::geometry

namespace chalkfold {

// The words that every room says.
using geometry::Mat2;
using geometry::Mat3;
using geometry::Polyline;
using geometry::Vec2;
using geometry::Vec3;

}  // namespace chalkfold
