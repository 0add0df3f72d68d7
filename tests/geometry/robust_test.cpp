// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/robust.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace chalkfold::geometry {
namespace {

struct RankCase {
  std::vector<double> values;
  double median, upper_tenth, lower_quarter;
};

// Counted off by hand.
const RankCase rank_cases[] = {
    {{}, 0, 0, 0},
    {{7}, 7, 7, 7},
    {{2, 1}, 2, 1, 1},
    {{3, 1, 2}, 2, 2, 1},
    {{4, 1, 3, 2}, 3, 3, 1},
    {{5, 5, 1, 5, 9}, 5, 5, 5},
    {{10, 9, 8, 7, 6, 5, 4, 3, 2, 1, 0}, 5, 9, 2},
};

TEST(Robust, MedianAndQuantilesAreValuesOfTheSample) {
  for (const RankCase& c : rank_cases) {
    EXPECT_EQ(median(c.values), c.median) << c.values.size() << " values";
    EXPECT_EQ(quantile(c.values, 0.9), c.upper_tenth) << c.values.size() << " values";
    EXPECT_EQ(quantile(c.values, 0.25), c.lower_quarter) << c.values.size() << " values";
    if (c.values.empty()) continue;
    EXPECT_EQ(quantile(c.values, 0), *std::min_element(c.values.begin(), c.values.end()));
    EXPECT_EQ(quantile(c.values, 1), *std::max_element(c.values.begin(), c.values.end()));
  }
}

TEST(Robust, EveryRankIsThatOfTheSortedValues) {
  std::vector<int> values;
  for (int i = 0; i < 101; ++i) values.push_back(i * 37 % 101);  // each of 0..100 once
  for (std::size_t rank = 0; rank < values.size(); ++rank)
    EXPECT_EQ(value_of_rank(values, rank), static_cast<int>(rank));
  EXPECT_THROW(value_of_rank(values, values.size()), std::logic_error);
}

/// Standard normal values at equal steps of probability: the distribution function, by std::erfc, solved by bisection.
std::vector<double> normal_values(int count) {
  std::vector<double> out;
  for (int i = 0; i < count; ++i) {
    const double wanted = (i + 0.5) / count;
    double low = -9, high = 9;
    for (int k = 0; k < 80; ++k) {
      const double middle = 0.5 * (low + high);
      (0.5 * std::erfc(-middle / std::numbers::sqrt2) < wanted ? low : high) = middle;
    }
    out.push_back(0.5 * (low + high));
  }
  return out;
}

TEST(Robust, SigmaOfANormalSampleIsItsStandardDeviation) {
  std::vector<double> sizes;
  for (const double z : normal_values(20001)) sizes.push_back(0.3 * std::abs(z));
  constexpr double of_the_constant = 1e-5;  // 1.4826 has five digits; the steps of probability bring as much
  EXPECT_NEAR(robust_sigma(sizes), 0.3, 0.3 * 10 * of_the_constant);
}

// Of the sizes with a share e thrown far off, the median is the normal one's quantile of 0.5 / (1 - e): at a fifth wild 0.887 sigma
// (normal tables), times 1.4826.
TEST(Robust, AFifthOfWildValuesBringsAThirdAtMost) {
  std::vector<double> sizes;
  for (const double z : normal_values(8000)) sizes.push_back(std::abs(z));
  for (int i = 0; i < 2000; ++i) sizes.push_back(1000 + i);
  EXPECT_NEAR(robust_sigma(sizes), 1.4826 * 0.887, 0.002);
}

}  // namespace
}  // namespace chalkfold::geometry
