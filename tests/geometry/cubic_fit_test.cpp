// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/cubic_fit.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

/// de Casteljau's construction, which shares nothing with the code's own formula.
Vec2 on_bezier(const CurveSegment& s, double t) {
  Vec2 p[4] = {s.from, s.control1, s.control2, s.to};
  for (int left = 3; left > 0; --left)
    for (int i = 0; i < left; ++i) p[i] = (1 - t) * p[i] + t * p[i + 1];
  return p[0];
}

double off_bezier(const CurveSegment& s, const Vec2& p) {
  double least = 1e300;
  for (int i = 0; i <= 4000; ++i) least = std::min(least, (on_bezier(s, i / 4000.0) - p).norm());
  return least;
}

/// Arcs of falling radius, end to end and tangent: what the piecewise fit makes of a curve that tightens.
Curve tightening() {
  CurveChain chain;
  chain.start = {5, 9};
  chain.direction = -0.4;
  chain.parts = {{false, 40, 0.25, 0}, {false, 40, 0.4, 0}, {false, 40, 0.65, 0}};
  return chain.curve();
}

WeightedPoints points_on(const Curve& curve) {
  WeightedPoints out;
  for (const CurveSegment& s : curve)
    for (int i = 0; i < 40; ++i) {
      // By hand: turned about the centre.
      const Vec2 from = s.from - s.centre;
      const double turn = s.turned() * i / 40, c = std::cos(turn), n = std::sin(turn);
      out.points.emplace_back(s.centre + Vec2(c * from.x() - n * from.y(), n * from.x() + c * from.y()));
    }
  out.points.push_back(curve.back().to);
  out.weight.assign(out.points.size(), 1);
  return out;
}

TEST(MergeArcs, OneCubicTakesThePlaceOfARow) {
  constexpr double tolerance = 0.3;
  const Curve arcs = tightening();
  const WeightedPoints points = points_on(arcs);
  const CubicMerge merged = merge_arcs(arcs, points, [&](const std::vector<double>& d) {
    return std::all_of(d.begin(), d.end(), [&](double v) { return std::abs(v) <= tolerance; });
  });
  ASSERT_TRUE(merged.any);
  ASSERT_EQ(merged.curve.size(), 1u);
  const CurveSegment& cubic = merged.curve.front();
  ASSERT_EQ(cubic.kind, CurveSegment::Kind::cubic);
  EXPECT_EQ(cubic.from, arcs.front().from);
  EXPECT_EQ(cubic.to, arcs.back().to);
  EXPECT_NEAR(cross((cubic.control1 - cubic.from).normalized(), arcs.front().direction(0)), 0, 1e-9);
  EXPECT_NEAR(cross((cubic.to - cubic.control2).normalized(), arcs.back().direction(1)), 0, 1e-9);
  for (const Vec2& p : points.points) EXPECT_LT(off_bezier(cubic, p), tolerance + 0.02);  // half a step of the walk
}

TEST(MergeArcs, FindsTheHandlesOfACubicThatThePointsLieOn) {
  CurveSegment truth;
  truth.kind = CurveSegment::Kind::cubic;
  truth.from = {0, 0};
  truth.control1 = {45, 0};
  truth.control2 = {90, 10};
  truth.to = {110, 50};
  WeightedPoints points;
  for (int i = 0; i <= 120; ++i) points.points.push_back(on_bezier(truth, i / 120.0));
  points.weight.assign(points.points.size(), 1);
  // Two arcs with the cubic's ends and tangents stand for it; where they meet does not count.
  const double end = std::atan2(40, 20);
  CurveChain chain;
  chain.parts = {{false, 70, 0.4 * end, 0}, {false, 55, 0.6 * end, 0}};
  Curve arcs = chain.curve();
  const Vec2 shift = truth.to - arcs.back().to;
  arcs.back().to = truth.to;
  arcs.back().centre += shift;  // turned at its end as before
  const CubicMerge merged = merge_arcs(arcs, points, [](const std::vector<double>&) { return true; });
  ASSERT_EQ(merged.curve.size(), 1u);
  for (const Vec2& p : points.points) EXPECT_LT(off_bezier(merged.curve.front(), p), 0.03);
  EXPECT_NEAR((merged.curve.front().control1 - truth.control1).norm(), 0, 0.5);
  EXPECT_NEAR((merged.curve.front().control2 - truth.control2).norm(), 0, 0.5);
}

TEST(MergeArcs, NothingIsMergedThatIsNotGoodOrNoArc) {
  const Curve arcs = tightening();
  const CubicMerge refused = merge_arcs(arcs, points_on(arcs), [](const std::vector<double>&) { return false; });
  EXPECT_FALSE(refused.any);
  EXPECT_EQ(refused.curve.size(), arcs.size());
  CurveSegment line;
  line.from = {0, 0};
  line.to = {80, 0};
  WeightedPoints points;
  for (int i = 0; i <= 80; ++i) points.points.emplace_back(i, 0);
  points.weight.assign(points.points.size(), 1);
  EXPECT_FALSE(merge_arcs({line}, points, [](const std::vector<double>&) { return true; }).any);
}

// From a circle the signed distance is radius less distance from the centre, left of the way of travel positive.
TEST(DistancesToCurve, OfAnArcAndALine) {
  CurveSegment arc;
  arc.kind = CurveSegment::Kind::arc;
  arc.centre = {10, 20};
  arc.from = {70, 20};
  arc.to = {10, 80};
  Polyline points;
  std::vector<double> off;
  for (int i = 1; i < 30; ++i) {
    off.push_back(2.5 * std::sin(0.8 * i));
    points.push_back(arc.centre + (60 - off.back()) * unit(i * std::numbers::pi / 60));
  }
  const std::vector<double> d = distances_to_curve({arc}, points);
  constexpr double flat = 0.003 * 1.1;  // mm, of the chords that stand for the arc, and what 2.5 mm off adds
  for (std::size_t i = 0; i < d.size(); ++i) EXPECT_NEAR(d[i], off[i], flat) << i;
  CurveSegment line;
  line.from = {0, 0};
  line.to = {30, 40};
  const std::vector<double> beside = distances_to_curve({line}, {{3, 4 + 5}, {15 + 4, 20 - 3}});
  EXPECT_NEAR(beside[0], 3, 1e-9);
  EXPECT_NEAR(beside[1], -5, 1e-9);
}

}  // namespace
}  // namespace chalkfold::geometry
