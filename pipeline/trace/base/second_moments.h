// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>

namespace chalkfold::trace {

/// Sum of v v^T over many vectors, in the order in which they are added. The six sums stay in registers, where an Eigen matrix that is added to
/// is read from memory and written back for every vector: several times as slow.
class SecondMoments {
 public:
  void add(const Eigen::Vector3d& v) {
    xx_ += v.x() * v.x();
    xy_ += v.x() * v.y();
    xz_ += v.x() * v.z();
    yy_ += v.y() * v.y();
    yz_ += v.y() * v.z();
    zz_ += v.z() * v.z();
  }
  Eigen::Matrix3d sum() const { return Eigen::Matrix3d{{xx_, xy_, xz_}, {xy_, yy_, yz_}, {xz_, yz_, zz_}}; }

 private:
  double xx_ = 0, xy_ = 0, xz_ = 0, yy_ = 0, yz_ = 0, zz_ = 0;
};

}  // namespace chalkfold::trace
