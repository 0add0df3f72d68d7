// SPDX-License-Identifier: Apache-2.0
// The cheapest way round a ring of costs, and what other ways would cost, against ways counted one by one.
#include "pipeline/trace/edge/path_search.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>

namespace chalkfold::trace {
namespace {

constexpr int rows = 60, columns = 33;

std::vector<float> flat(float cost) { return std::vector<float>(std::size_t{rows} * columns, cost); }

void carve(std::vector<float>& costs, int column, float cost) {
  for (int r = 0; r < rows; ++r) costs[static_cast<std::size_t>(r * columns + column)] = cost;
}

TEST(PathSearch, FollowsTheOneValleyAndHasNoDoubt) {
  auto costs = flat(500);
  carve(costs, 9, 0);
  const RingPath path = cheapest_ring(costs, rows, columns, 0, 5);
  for (int r = 0; r < rows; ++r) {
    EXPECT_EQ(path.columns[static_cast<std::size_t>(r)], 9);
    EXPECT_LT(path.spread[static_cast<std::size_t>(r)], 1e-3);
  }
}

TEST(PathSearch, TwoValleysAlikeAreHalfADistanceOfDoubtEach) {
  // Both weigh the same: the mean square from the one taken is half the distance squared.
  auto costs = flat(500);
  constexpr int first = 9, second = 25;
  carve(costs, first, 0);
  carve(costs, second, 0);
  const RingPath path = cheapest_ring(costs, rows, columns, 0, 5);
  for (int r = 0; r < rows; ++r)
    EXPECT_NEAR(path.spread[static_cast<std::size_t>(r)], (second - first) / std::sqrt(2.0), 1e-3);
}

TEST(PathSearch, AValleyThatCostsMoreWeighsByItsExcess) {
  // Round a ring, the whole second lap counts and the first: a way through the other valley pays its excess in every row of both.
  auto costs = flat(500);
  constexpr int first = 9, second = 25;
  constexpr float excess = 0.05f;
  constexpr double temperature = 5;
  carve(costs, first, 0);
  carve(costs, second, excess);
  const RingPath path = cheapest_ring(costs, rows, columns, 0, temperature);
  for (int r = 0; r < rows; ++r) {
    // forward r + rows rows, backward 2 rows - r: together three laps and the row itself counted once
    const double weight = std::exp(-(3 * rows + 0.0) * static_cast<double>(excess) / temperature);
    const double expected = (second - first) * std::sqrt(weight / (1 + weight));
    EXPECT_EQ(path.columns[static_cast<std::size_t>(r)], first);
    EXPECT_NEAR(path.spread[static_cast<std::size_t>(r)], expected, 0.1);
  }
}

TEST(PathSearch, WaysWithinReachOfTheFitAreNoRivals) {
  auto costs = flat(500);
  carve(costs, 9, 0);
  carve(costs, 12, 0);
  for (const double spread : cheapest_ring(costs, rows, columns, 5, 5).spread) EXPECT_LT(spread, 1e-3);
}

TEST(PathSearch, IsTheCheapestOfAllWaysOnASmallRing) {
  constexpr int few = 5, narrow = 4;
  constexpr double step_charge = 1.2;
  std::vector<float> costs;
  std::uint32_t dice = 7;
  for (int i = 0; i < few * narrow; ++i)
    costs.push_back(static_cast<float>((dice = dice * 1664525u + 1013904223u) >> 24) / 20);
  const auto cost_of = [&](const std::vector<int>& way) {
    double sum = 0;
    for (int r = 0; r < few; ++r) {
      const int step = way[static_cast<std::size_t>((r + 1) % few)] - way[static_cast<std::size_t>(r)];
      sum += static_cast<double>(costs[static_cast<std::size_t>(r * narrow + way[static_cast<std::size_t>(r)])]) +
             step_charge * step * step;
    }
    return sum;
  };
  double least = 1e9;
  for (int code = 0; code < 1024; ++code) {
    std::vector<int> way;
    for (int r = 0, c = code; r < few; ++r, c /= narrow) way.push_back(c % narrow);
    least = std::min(least, cost_of(way));
  }
  EXPECT_NEAR(cost_of(cheapest_ring(costs, few, narrow, 0, 5).columns), least, 1e-4);
}

}  // namespace
}  // namespace chalkfold::trace
