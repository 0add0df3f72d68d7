// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/curve_fit.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <numbers>
#include <optional>
#include <random>

#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

struct Shape {
  const char* what;
  /// place at 0..1
  std::function<Vec2(double)> at;
  /// mm from it, known in closed form
  std::function<double(const Vec2&)> off;
  /// most of the curve that comes out: a spiral is within the tolerance of two parts
  std::size_t segments;
  /// of all of them; nothing where it may be either
  std::optional<CurveSegment::Kind> kind;
};

using Kind = CurveSegment::Kind;

// The Archimedean spiral r = 60 + 20 angle over 1.6 rad: no arc does, and its distance is (r - 60 - 20 angle) times the cosine of
// the angle between radius and normal, but for second order in the distance.
double off_spiral(const Vec2& p) {
  const double angle = std::atan2(p.y(), p.x()), r = 60 + 20 * angle;
  return (p.norm() - r) * r / std::hypot(r, 20);
}

const Shape shapes[] = {
    {"a line", [](double t) { return Vec2(10 + 150 * t, 20 + 80 * t); },
     [](const Vec2& p) { return cross(Vec2(150, 80).normalized(), p - Vec2(10, 20)); }, 1, Kind::line},
    {"an arc", [](double t) { return Vec2(90 * unit(0.4 + 1.9 * t)); }, [](const Vec2& p) { return p.norm() - 90; }, 1,
     Kind::arc},
    {"a spiral", [](double t) { return Vec2((60 + 32 * t) * unit(1.6 * t)); }, off_spiral, 2, {}},
};

Polyline points_of(const Shape& shape, double sigma, unsigned seed) {
  std::mt19937 engine(seed);
  Polyline points;
  constexpr int count = 180;
  for (int i = 0; i <= count; ++i) {
    Vec2 p = shape.at(static_cast<double>(i) / count);
    // Sum of twelve even values less six: variance 1, the same on every machine.
    for (double* v : {&p.x(), &p.y()}) {
      double z = -6;
      for (int k = 0; k < 12; ++k) z += static_cast<double>(engine()) / 4294967296.0;
      *v += sigma * z;
    }
    points.push_back(p);
  }
  return points;
}

double largest_off(const Curve& curve, const Shape& shape) {
  double largest = 0;
  for (const CurveSegment& s : curve)
    for (int i = 0; i <= 200; ++i) largest = std::max(largest, std::abs(shape.off(s.at(i / 200.0))));
  return largest;
}

TEST(FitCurve, NoMorePartsThanDo) {
  for (const Shape& shape : shapes) {
    const Polyline points = points_of(shape, 0, 1);
    const CurveFit fit = fit_curve(points, std::vector<double>(points.size(), 0.02));
    ASSERT_LE(fit.curve.size(), shape.segments) << shape.what;
    if (shape.kind) {
      EXPECT_EQ(fit.curve.front().kind, *shape.kind) << shape.what;
    }
    EXPECT_TRUE(fit.within_tolerance) << shape.what;
    // What is of its own kind it gives back but for the averaging over 3.5 mm, which draws an arc of 90 mm in by 3.5^2 / (24 x 90).
    EXPECT_LT(largest_off(fit.curve, shape), shape.kind ? 0.0065 : 0.3) << shape.what << ", mm";
  }
}

// Noise of 0.15 mm at 180 points: of a line's offset it leaves 0.15 / sqrt(180) = 0.011, at its ends twice that, of a bend's ends
// three times; five sigmas of it are asked for.
TEST(FitCurve, NoiseIsAveragedAndNotFollowed) {
  for (const Shape& shape : shapes) {
    for (unsigned seed = 1; seed <= 8; ++seed) {
      const Polyline points = points_of(shape, 0.15, seed);
      const CurveFit fit = fit_curve(points, std::vector<double>(points.size(), 0.15));
      ASSERT_LE(fit.curve.size(), shape.segments) << shape.what << ", seed " << seed;
      EXPECT_LT(largest_off(fit.curve, shape), shape.kind ? 0.16 : 0.45) << shape.what << ", mm";
      EXPECT_NEAR(fit.rms, 0.15, 0.04) << shape.what;
    }
  }
}

TEST(FitCurve, WildPointsDoNotDrawIt) {
  for (const Shape& shape : shapes) {
    Polyline points = points_of(shape, 0.02, 3);
    for (std::size_t i = 4; i + 4 < points.size(); i += 9) points[i] += Vec2(1.5, 2);
    const CurveFit fit = fit_curve(points, std::vector<double>(points.size(), 0.02));
    EXPECT_LT(largest_off(fit.curve, shape), 0.3) << shape.what << ", mm";
  }
}

TEST(FitCurve, PartsMeetTangentAndEndsAreHeld) {
  // A quarter of a circle between two lines: 80 mm, radius 50, 60 mm.
  Polyline points;
  for (double s = 0; s < 80; s += 1) points.emplace_back(s - 80, -50);
  for (double a = 0; a < std::numbers::pi / 2; a += 0.02) points.push_back(50 * unit(a - std::numbers::pi / 2));
  for (double s = 0; s <= 60; s += 1) points.emplace_back(50, s);
  CurveFitOptions options;
  options.start.point = points.front();
  options.start.direction = 0;
  options.end.point = points.back();
  const CurveFit fit = fit_curve(points, std::vector<double>(points.size(), 0.02), options);
  ASSERT_EQ(fit.curve.size(), 3u);
  EXPECT_EQ(fit.curve[1].kind, Kind::arc);
  EXPECT_NEAR(fit.curve[1].radius(), 50, 0.3);
  EXPECT_NEAR((fit.curve.front().from - points.front()).norm(), 0, 1e-9);
  EXPECT_NEAR((fit.curve.back().to - points.back()).norm(), 0, 1e-9);
  EXPECT_NEAR(cross(fit.curve.front().direction(0), Vec2::UnitX()), 0, 1e-9);
  for (std::size_t i = 1; i < fit.curve.size(); ++i) {
    EXPECT_NEAR((fit.curve[i].from - fit.curve[i - 1].to).norm(), 0, 1e-9);
    EXPECT_NEAR(cross(fit.curve[i - 1].direction(1), fit.curve[i].direction(0)), 0, 1e-9);
  }
}

TEST(FitCurve, AClosedRunHasNoSeam) {
  Polyline points;
  for (int i = 0; i < 300; ++i) points.push_back(Vec2(30, 5) + 70 * unit(2 * std::numbers::pi * i / 300));
  CurveFitOptions options;
  options.closed = true;
  const CurveFit fit = fit_curve(points, std::vector<double>(points.size(), 0.02), options);
  EXPECT_NEAR((fit.curve.back().to - fit.curve.front().from).norm(), 0, 1e-6);
  EXPECT_NEAR(cross(fit.curve.back().direction(1), fit.curve.front().direction(0)), 0, 1e-6);
  EXPECT_NEAR(length(fit.curve), 2 * std::numbers::pi * 70, 0.1);
}

TEST(NoiseOf, IsTheNoisesSigmaWhateverTheShape) {
  for (const Shape& shape : shapes) {
    EXPECT_LT(noise_of(points_of(shape, 0, 1)), 1e-3) << shape.what << ": a smooth bend is no noise";
    double sum = 0;
    constexpr int seeds = 20;
    for (unsigned seed = 1; seed <= seeds; ++seed) sum += noise_of(points_of(shape, 0.15, seed));
    // A median's relative spread is 1.17 / sqrt(count), third differences share their points: some 0.13 of 178, a fourth of that over 20.
    EXPECT_NEAR(sum / seeds, 0.15, 0.15 * 0.12) << shape.what;
  }
}

}  // namespace
}  // namespace chalkfold::geometry
