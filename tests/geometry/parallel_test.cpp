// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/parallel.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

CurveSegment cubic(const Vec2& from, const Vec2& control1, const Vec2& control2, const Vec2& to) {
  CurveSegment s;
  s.kind = CurveSegment::Kind::cubic;
  s.from = from;
  s.control1 = control1;
  s.control2 = control2;
  s.to = to;
  return s;
}

/// de Casteljau's construction, which shares nothing with the code's own formula.
Vec2 on_bezier(const CurveSegment& s, double t) {
  Vec2 p[4] = {s.from, s.control1, s.control2, s.to};
  for (int left = 3; left > 0; --left)
    for (int i = 0; i < left; ++i) p[i] = (1 - t) * p[i] + t * p[i + 1];
  return p[0];
}

/// Distance to the cubic, positive to the right of its way of travel: the nearest of many chords.
double right_of(const CurveSegment& s, const Vec2& p) {
  constexpr int steps = 4000;
  double least = 1e300, value = 0;
  for (int i = 0; i < steps; ++i) {
    const Vec2 a = on_bezier(s, static_cast<double>(i) / steps), d = on_bezier(s, (i + 1.0) / steps) - a, v = p - a;
    const double t = std::min(1.0, std::max(0.0, d.dot(v) / d.dot(d))), away = (v - t * d).norm();
    if (away >= least) continue;
    least = away;
    value = d.x() * v.y() - d.y() * v.x() > 0 ? -away : away;
  }
  return value;
}

struct ParallelCase {
  const char* what;
  CurveSegment curve;
  double distance;
};

const ParallelCase parallel_cases[] = {
    {"a quarter of a circle of 100 mm, outside", cubic({100, 0}, {100, 55.22847}, {55.22847, 100}, {0, 100}), 12},
    {"its inside", cubic({100, 0}, {100, 55.22847}, {55.22847, 100}, {0, 100}), -30},
    {"an S", cubic({0, 0}, {60, 0}, {40, 80}, {100, 80}), 10},
    {"an S, to the left", cubic({0, 0}, {60, 0}, {40, 80}, {100, 80}), -10},
    {"a bend that tightens", cubic({0, 0}, {45, 0}, {90, 10}, {110, 50}), 15},
    {"all but straight", cubic({0, 0}, {30, 0.001}, {60, -0.001}, {90, 0}), 10},
};

TEST(CubicParallel, LiesAtTheDistanceAllAlong) {
  constexpr double of_chords = 1e-4;  // mm: the cubic's 4,000 chords, each some 0.03 mm long
  for (const ParallelCase& c : parallel_cases) {
    for (const bool as_cubics : {false, true}) {
      for (const double tolerance : {0.1, 0.005}) {
        const Curve parallel = cubic_parallel(c.curve, c.distance, tolerance, as_cubics);
        ASSERT_FALSE(parallel.empty()) << c.what;
        for (const CurveSegment& s : parallel)
          for (int i = 0; i <= 24; ++i)
            // Departure is looked at in seven places of each part; between them it may be a quarter more.
            ASSERT_NEAR(right_of(c.curve, s.at(i / 24.0)), c.distance, 1.25 * tolerance + of_chords)
                << c.what << (as_cubics ? ", cubics" : ", arcs");
        for (std::size_t i = 1; i < parallel.size(); ++i) {
          EXPECT_NEAR((parallel[i].from - parallel[i - 1].to).norm(), 0, 1e-9) << c.what;
          EXPECT_NEAR(cross(parallel[i - 1].direction(1), parallel[i].direction(0)), 0, 1e-6) << c.what << ": tangent";
        }
      }
    }
  }
}

TEST(CubicParallel, BeginsAndEndsBesideTheCubicsEnds) {
  for (const ParallelCase& c : parallel_cases) {
    const Curve parallel = cubic_parallel(c.curve, c.distance, 0.05, false);
    const Vec2 start = (c.curve.control1 - c.curve.from).normalized(),
               end = (c.curve.to - c.curve.control2).normalized();
    EXPECT_NEAR((parallel.front().from - (c.curve.from - c.distance * left_of(start))).norm(), 0, 1e-9) << c.what;
    EXPECT_NEAR((parallel.back().to - (c.curve.to - c.distance * left_of(end))).norm(), 0, 1e-9) << c.what;
  }
}

TEST(CubicParallel, AFinerToleranceTakesMoreParts) {
  const CurveSegment& s = parallel_cases[2].curve;
  EXPECT_GT(cubic_parallel(s, 10, 0.001, false).size(), cubic_parallel(s, 10, 0.1, false).size());
}

// A parabola y = x^2 / (2 r), written as a cubic, has the radius r at its vertex and more everywhere else.
TEST(LeastRadius, OfAParabolaIsItsVertexs) {
  for (const double r : {8.0, 40.0, 300.0}) {
    const double x = 50, y = x * x / (2 * r);
    const Vec2 from(-x, y), middle(0, -y), to(x, y);
    const CurveSegment s = cubic(from, from + 2.0 / 3 * (middle - from), to + 2.0 / 3 * (middle - to), to);
    EXPECT_NEAR(least_radius(s, true), r, 1e-9 * r);
    EXPECT_EQ(least_radius(s, false), std::numeric_limits<double>::infinity()) << "it never bends to the right";
    EXPECT_NEAR(least_radius(reversed(s), false), r, 1e-9 * r);
  }
}

// An S bends both ways alike: turned by half about its middle it is itself.
TEST(LeastRadius, OfAnSIsTheSameToBothSides) {
  const CurveSegment& s = parallel_cases[2].curve;
  EXPECT_NEAR(least_radius(s, true), least_radius(s, false), 1e-9);
  EXPECT_LT(least_radius(s, true), 100);
}

}  // namespace
}  // namespace chalkfold::geometry
