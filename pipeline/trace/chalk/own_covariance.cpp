// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/own_covariance.h"

#include <Eigen/Dense>

#include "pipeline/trace/base/second_moments.h"

namespace chalkfold::trace {

Eigen::Matrix3d own_covariance(const std::vector<Eigen::Vector3d>& samples, double floor) {
  constexpr double within = 11.3;    // 99 % of three normal channels' squared distance
  constexpr int rounds = 4;          // each from the spread of the last
  constexpr double unbounded = 1e6;  // of the floor's variance: the first round leaves nothing out
  const Eigen::Matrix3d least = floor * floor * Eigen::Matrix3d::Identity();
  Eigen::Matrix3d covariance = unbounded * least;
  for (int round = 0; round < rounds; ++round) {
    const Eigen::Matrix3d information = covariance.inverse();
    SecondMoments moments;
    double count = 0;
    for (const Eigen::Vector3d& s : samples) {
      if (s.dot(information * s) > within) continue;
      moments.add(s);
      count += 1;
    }
    covariance = (count > 0 ? Eigen::Matrix3d(moments.sum() / count) : Eigen::Matrix3d::Zero()) + least;
  }
  return covariance;
}

}  // namespace chalkfold::trace
