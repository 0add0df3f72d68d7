// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>

namespace chalkfold::trace {

/// About one code step of sRGB, in linear light near black: added, it keeps weights and quotients of black finite.
constexpr double darkest_light = 0.004;

/// Standard deviation of what no material is evener than under a phone's noise: three steps of 8 bits, in coded values.
constexpr float coded_noise = 0.012f;

/// Linear light as coded values, 0..1: a square root is near enough the tone curve for telling colours apart.
inline Eigen::Vector3f coded_of(const Eigen::Vector3f& linear) { return linear.cwiseMax(0.0f).cwiseSqrt(); }

}  // namespace chalkfold::trace
