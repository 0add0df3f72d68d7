// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cstddef>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

namespace chalkfold::geometry {

// Figures of a sample that a few wild values do not move. All are values of the sample itself: of an even count the median is
// the upper of the two in the middle.

/// The value that `rank` others come before; puts the values into another order. Precondition: rank < count.
template <class Value>
Value value_of_rank(std::vector<Value>& values, std::size_t rank) {
  if (rank >= values.size())
    throw std::logic_error("rank " + std::to_string(rank) + " of " + std::to_string(values.size()) + " values");
  const auto at = values.begin() + static_cast<std::ptrdiff_t>(rank);
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

/// 0 of none.
template <class Value>
Value median(std::vector<Value> values) {
  return values.empty() ? Value{} : value_of_rank(values, values.size() / 2);
}

/// The value that a share of the others (0..1, rounded down to whole values) comes before; 0 of none.
template <class Value>
Value quantile(std::vector<Value> values, double share) {
  if (values.empty()) return Value{};
  return value_of_rank(values, static_cast<std::size_t>(share * static_cast<double>(values.size() - 1)));
}

/// Standard deviation of a normal distribution over the median of its absolute departures: 1 / (quantile of 3/4), 0.6745.
inline constexpr double sigma_from_median_size = 1.4826;

/// Standard deviation as the median of absolute departures tells it; 0 of none.
inline double robust_sigma(std::vector<double> departures_without_sign) {
  return sigma_from_median_size * median(std::move(departures_without_sign));
}

}  // namespace chalkfold::geometry
