// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cmath>

#include "pipeline/geometry/line_fit.h"

namespace chalkfold::trace {

/// 1 standard deviation of a line fitted to what a hand drew: mm across it at its middle, and rad.
struct LineSigma {
  double across = 0, angle = 0;
};

/// From its wander (rms about the line) over the stretches that wander independently; `drawn` is how much of its length was drawn, mm.
inline LineSigma sigma_of_hand_drawn(const geometry::FittedLine& line, double drawn) {
  // mm along the line over which a hand's wander is one and the same; fitted, see centre_line.cpp
  constexpr double grain_of_hand = 25;
  constexpr double least_wander = 0.12;  // mm: chalk is no finer than that
  constexpr double length_squared = 12;  // over the variance of places even along a line
  const double n = std::max(2.0, drawn / grain_of_hand), wander = std::max(line.rms, least_wander);
  return {wander / std::sqrt(n), wander * std::sqrt(length_squared / n) / line.length()};
}

}  // namespace chalkfold::trace
