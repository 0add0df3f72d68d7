// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/curve_chain.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

/// A line of 60 mm, an arc of radius 40 to the left, a line of 50, an arc of radius 80 to the right.
CurveChain four_parts() {
  CurveChain chain;
  chain.start = {12, -7};
  chain.direction = 0.3;
  chain.parts = {{true, 60, 0, 0}, {false, 48, 1.2, 0}, {true, 50, 0, 0}, {false, 56, -0.7, 0}};
  return chain;
}

/// The heading integrated in small steps (midpoint rule): what nodes and places must come to, by another route.
struct Walked {
  Polyline points;
  /// rad, at each of them
  std::vector<double> heading;
  std::vector<std::size_t> part;
  Vec2 end = Vec2::Zero();
  double direction = 0;
};

Walked walked(const CurveChain& chain, double spacing) {
  constexpr int fine = 200;
  Walked out;
  out.end = chain.start;
  out.direction = chain.direction;
  for (std::size_t i = 0; i < chain.parts.size(); ++i) {
    const CurveChain::Part& part = chain.parts[i];
    const int steps = static_cast<int>(std::lround(part.length / spacing));
    for (int k = 0; k < steps; ++k) {
      out.points.push_back(out.end);
      out.heading.push_back(out.direction);
      out.part.push_back(i);
      for (int f = 0; f < fine; ++f) {
        const double step = part.length / (steps * fine), turn = part.turn / (steps * fine);
        out.end += step * unit(out.direction + 0.5 * turn);
        out.direction += turn;
      }
    }
  }
  out.points.push_back(out.end);
  out.heading.push_back(out.direction);
  out.part.push_back(chain.parts.size() - 1);
  return out;
}

// The midpoint rule's error on an arc is a 24th of the square of its step's turn: 1e-10 of the length.
constexpr double of_walking = 1e-6;  // mm

TEST(CurveChain, EndsWhereItsHeadingLeads) {
  const CurveChain chain = four_parts();
  const Walked walk = walked(chain, 1);
  EXPECT_NEAR((chain.nodes().back().point - walk.end).norm(), 0, of_walking);
  EXPECT_NEAR(chain.nodes().back().direction, walk.direction, 1e-9);
  const Curve curve = chain.curve();
  ASSERT_EQ(curve.size(), 4u);
  EXPECT_NEAR((curve.back().to - walk.end).norm(), 0, of_walking);
  EXPECT_NEAR(curve[1].radius(), 40, 1e-9);
  EXPECT_NEAR(curve[3].radius(), 80, 1e-9);
  EXPECT_TRUE(curve[1].counter_clockwise);
  EXPECT_FALSE(curve[3].counter_clockwise);
}

TEST(CurveChain, DistancesAreThoseThatPointsWereMovedBy) {
  const CurveChain chain = four_parts();
  const Walked walk = walked(chain, 2);
  Polyline moved;
  std::vector<double> by;
  for (std::size_t i = 0; i < walk.points.size(); ++i) {
    by.push_back(3 * std::sin(0.7 * static_cast<double>(i)));
    moved.push_back(walk.points[i] + by.back() * left_of(unit(walk.heading[i])));
  }
  const std::vector<double> d = distances_from(chain, moved);
  for (std::size_t i = 0; i < d.size(); ++i) EXPECT_NEAR(d[i], by[i], of_walking) << "point " << i;
}

WeightedPoints even_weights(const Polyline& points) { return {points, std::vector<double>(points.size(), 1)}; }

/// The chain with its numbers off, each part given the points that are its own.
CurveChain spoilt(CurveChain chain, const Walked& walk) {
  chain.start += Vec2(1.5, -1);
  chain.direction += 0.03;
  for (std::size_t k = 0; k < chain.parts.size(); ++k) {
    chain.parts[k].length *= k % 2 == 0 ? 1.06 : 0.95;
    chain.parts[k].turn *= 1.1;
    chain.parts[k].from_point =
        static_cast<std::size_t>(std::lower_bound(walk.part.begin(), walk.part.end(), k) - walk.part.begin());
  }
  return chain;
}

void expect_parts(const CurveChain& got, const CurveChain& truth, double mm) {
  ASSERT_EQ(got.parts.size(), truth.parts.size());
  EXPECT_NEAR(std::remainder(got.direction - truth.direction, 2 * std::numbers::pi), 0, mm / 50);
  for (std::size_t k = 0; k < truth.parts.size(); ++k)
    EXPECT_NEAR(got.parts[k].turn, truth.parts[k].turn, mm / 20) << "part " << k;
  // The ends along the way are as free as the points leave them; every joint lies on the truth.
  const auto nodes = got.nodes(), true_nodes = truth.nodes();
  for (std::size_t k = 1; k + 1 < nodes.size(); ++k)
    EXPECT_NEAR((nodes[k].point - true_nodes[k].point).norm(), 0, 20 * mm) << "joint " << k;
  Polyline joints;
  for (std::size_t k = 1; k + 1 < nodes.size(); ++k) joints.push_back(nodes[k].point);
  for (const double d : distances_from(truth, joints)) EXPECT_NEAR(d, 0, mm);
}

TEST(FitChain, RecoversWhatThePointsLieOn) {
  const CurveChain truth = four_parts();
  const Walked walk = walked(truth, 1);
  ChainFitOptions options;
  options.start.point = walk.points.front();
  options.end.point = walk.points.back();
  const auto fit = fit_chain(spoilt(truth, walk), even_weights(walk.points), options);
  ASSERT_TRUE(fit);
  expect_parts(*fit, truth, 1e-4);
  EXPECT_NEAR((fit->start - walk.points.front()).norm(), 0, 1e-9) << "a condition is held exactly";
  EXPECT_NEAR((fit->nodes().back().point - walk.points.back()).norm(), 0, 1e-9);
}

TEST(FitChain, WildPointsDoNotDrawIt) {
  const CurveChain truth = four_parts();
  const Walked walk = walked(truth, 1);
  ChainFitOptions options;
  options.start.point = walk.points.front();
  options.end.point = walk.points.back();
  Polyline points = walk.points;
  for (std::size_t i = 3; i + 1 < points.size(); i += 5)
    points[i] += 6 * left_of(unit(walk.heading[i]));  // mm, a fifth of them
  const auto fit = fit_chain(spoilt(truth, walk), even_weights(points), options);
  ASSERT_TRUE(fit);
  expect_parts(*fit, truth, 1e-3);
}

// An end that slides keeps its place across; a direction is kept to the digit though the points say otherwise.
TEST(FitChain, HoldsItsEndsExactly) {
  CurveChain truth;
  truth.start = {0, 0};
  truth.parts = {{false, 80, 1.0, 0}};
  const Walked walk = walked(truth, 1);
  ChainFitOptions options;
  options.start.point = Vec2(0, 0.5);
  options.start.slides = Vec2::UnitX();
  options.end.direction = 1.1;
  const auto fit = fit_chain(spoilt(truth, walk), even_weights(walk.points), options);
  ASSERT_TRUE(fit);
  EXPECT_NEAR(fit->start.y(), 0.5, 1e-9);
  EXPECT_NEAR(fit->nodes().back().direction, 1.1, 1e-9);
  for (const double d : distances_from(*fit, walk.points)) EXPECT_LT(std::abs(d), 2.5) << "mm, and it still follows";
}

TEST(FitChain, ClosesAStadium) {
  CurveChain truth;
  truth.start = {-30, -25};
  truth.parts = {{true, 60, 0, 0},
                 {false, 25 * std::numbers::pi, std::numbers::pi, 0},
                 {true, 60, 0, 0},
                 {false, 25 * std::numbers::pi, std::numbers::pi, 0}};
  Walked walk = walked(truth, 1);
  walk.points.pop_back();  // which is the first again
  walk.part.pop_back();
  ChainFitOptions options;
  options.closed = true;
  CurveChain guess = spoilt(truth, walk);
  for (CurveChain::Part& part : guess.parts) part.turn /= 1.07;
  const auto fit = fit_chain(guess, even_weights(walk.points), options);
  ASSERT_TRUE(fit);
  const auto nodes = fit->nodes();
  EXPECT_NEAR((nodes.back().point - nodes.front().point).norm(), 0, 1e-9);
  EXPECT_NEAR(nodes.back().direction - nodes.front().direction, 2 * std::numbers::pi, 1e-9);
  EXPECT_NEAR(fit->parts[1].length / fit->parts[1].turn, 25, 1e-3) << "radius, mm";
  EXPECT_NEAR(fit->parts[3].length / fit->parts[3].turn, 25, 1e-3) << "radius, mm";
}

}  // namespace
}  // namespace chalkfold::geometry
