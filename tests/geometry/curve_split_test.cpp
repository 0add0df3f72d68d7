// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/curve_split.h"

#include <gtest/gtest.h>

#include <cmath>

#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

struct True {
  double length, turn;
};

struct SplitCase {
  const char* what;
  std::vector<True> parts;
};

const SplitCase split_cases[] = {
    {"a line", {{120, 0}}},
    {"an arc to the left", {{120, 1.5}}},
    {"an arc to the right", {{120, -0.8}}},
    {"a line into an arc", {{70, 0}, {60, 1.2}}},
    {"an arc between lines", {{60, 0}, {50, -1.4}, {60, 0}}},
    {"an S", {{80, 1.3}, {80, -1.3}}},
    {"a tight arc into a wide one", {{40, 1.6}, {90, 0.6}}},
};

/// Points every millimetre, each on its own arc exactly: chords 2 r sin(half the turn).
WeightedPoints points_on(const std::vector<True>& parts) {
  WeightedPoints out;
  Vec2 start(100, -40);
  double direction = 0.7;
  const auto from_start = [&](const True& part, double share) -> Vec2 {
    const double half = 0.5 * part.turn * share,
                 chord = part.turn == 0 ? part.length * share : 2 * part.length / part.turn * std::sin(half);
    return start + chord * unit(direction + half);
  };
  for (const True& part : parts) {
    for (double s = 0; s < part.length; s += 1) out.points.push_back(from_start(part, s / part.length));
    start = from_start(part, 1);
    direction += part.turn;
  }
  out.points.push_back(start);
  out.weight.assign(out.points.size(), 1);
  return out;
}

TEST(SplitCurve, FindsTheFewestPartsAndTheirBends) {
  for (const SplitCase& c : split_cases) {
    const WeightedPoints points = points_on(c.parts);
    const CurveChain chain = split_curve(points, {});
    ASSERT_EQ(chain.parts.size(), c.parts.size()) << c.what;
    std::size_t breaks = 0;
    for (std::size_t k = 0; k < c.parts.size(); ++k) {
      // Breaks are looked for every 5 mm, and one 5 mm off leaves a neighbour within the tolerance of 0.3.
      constexpr double beside = 10;  // points, each 1 mm
      EXPECT_NEAR(static_cast<double>(chain.parts[k].from_point), static_cast<double>(breaks), beside) << c.what;
      breaks += static_cast<std::size_t>(c.parts[k].length);
      const double bend = c.parts[k].turn / c.parts[k].length, got = chain.parts[k].turn / chain.parts[k].length;
      // Over half of a part a bend that is off by this leaves it by the tolerance: 8 x 0.3 / length^2, and twice that at an end taken short.
      EXPECT_NEAR(got, bend, 16 * 0.3 / (c.parts[k].length * c.parts[k].length)) << c.what << ", part " << k;
    }
  }
}

TEST(SplitCurve, AFibreIsNoShape) {
  WeightedPoints points = points_on({{120, 0}});
  for (std::size_t i = 50; i < 53; ++i) points.points[i] += 4 * left_of(unit(0.7));
  EXPECT_EQ(split_curve(points, {}).parts.size(), 1u);
}

TEST(OneArcDoes, WhereThePointsLieOnOne) {
  for (const SplitCase& c : split_cases) {
    const WeightedPoints points = points_on(c.parts);
    EXPECT_EQ(one_arc_does(points, 0, points.points.size() - 1, {}), c.parts.size() == 1) << c.what;
    EXPECT_TRUE(one_arc_does(points, 2, 32, {})) << c.what << ", its first part alone";
  }
}

// Sagitta: an arc of 120 mm that turns by a leaves its chord by 120 a / 8 at most; the best line by two thirds of that. A running mean
// over 12 mm of it stays under 0.3 up to a turn of 0.03.
TEST(OneArcDoes, AFlatArcIsWithinToleranceOfALine) {
  SplitOptions options;
  const WeightedPoints flat = points_on({{120, 0.025}});
  EXPECT_EQ(split_curve(flat, options).parts.size(), 1u);
  WeightedPoints bent = points_on({{60, 0}, {60, 1.0}});
  EXPECT_FALSE(one_arc_does(bent, 0, bent.points.size() - 1, options));
  options.tolerance = 8;  // mm: the sagitta of the bent half is 60 x 1.0 / 8 = 7.5
  options.clip = 20;
  EXPECT_TRUE(one_arc_does(bent, 0, bent.points.size() - 1, options));
}

}  // namespace
}  // namespace chalkfold::geometry
