// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/polygon.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <stdexcept>

namespace chalkfold::geometry {
namespace {

// Coordinates of up to 1000 mm carry rounding of 1e-13 mm each; sums over some tens of points stay below this.
constexpr double rounding_mm = 1e-11;
// Products of two such coordinates: 1e-10 mm2 each.
constexpr double rounding_mm2 = 1e-8;
constexpr double rounding_rad = 1e-12;

/// Uniform in [from, to), the same on every library.
double uniform(std::mt19937& random, double from, double to) { return from + (to - from) * (random() / 4294967296.0); }

/// A star-shaped, not convex, asymmetric outline, counter-clockwise with y up, around `middle`.
Polyline star(std::mt19937& random, int count, const Vec2& middle) {
  Polyline points;
  for (int i = 0; i < count; ++i) {
    const double angle = 2 * std::numbers::pi * i / count, radius = uniform(random, 60, 300);
    points.push_back(middle + radius * Vec2(std::cos(angle), std::sin(angle)));
  }
  return points;
}

/// A star away from the origin.
Polyline blob(std::mt19937& random, int count) {
  const double x = uniform(random, -500, 500), y = uniform(random, -500, 500);
  return star(random, count, {x, y});
}

Rigid2 motion(std::mt19937& random) {
  return {uniform(random, -3.1, 3.1), {uniform(random, -500, 500), uniform(random, -500, 500)}};
}

const Polyline rectangle_40_by_30 = {{0, 0}, {40, 0}, {40, 30}, {0, 30}};

TEST(SignedArea, IsUnchangedByMotionAndStartAndTurnsSignWithDirection) {
  std::mt19937 random(1);
  for (int draw = 0; draw < 50; ++draw) {
    Polyline points = blob(random, 5 + draw);
    const double area = signed_area(points);
    EXPECT_GT(area, 0) << "counter-clockwise with y up is positive";
    EXPECT_NEAR(signed_area(moved(motion(random), points)), area, rounding_mm2);
    std::rotate(points.begin(), points.begin() + draw % 5, points.end());
    EXPECT_NEAR(signed_area(points), area, rounding_mm2);
    std::reverse(points.begin(), points.end());
    EXPECT_NEAR(signed_area(points), -area, rounding_mm2);
    for (Vec2& p : points) p = y_down_from_y_up(p, 77);
    EXPECT_NEAR(signed_area(points), area, rounding_mm2) << "a flip turns the direction round";
  }
}

TEST(SignedArea, AgreesWithTheFormulaForRegularPolygons) {
  for (const int count : {3, 4, 7, 100}) {
    Polyline points;
    for (int i = 0; i < count; ++i) {
      const double angle = 2 * std::numbers::pi * i / count;
      points.push_back(Vec2(1e4, -1e4) + 50 * Vec2(std::cos(angle), std::sin(angle)));
    }
    EXPECT_NEAR(signed_area(points), 0.5 * count * 2500 * std::sin(2 * std::numbers::pi / count), 1e-7)
        << count << " corners; 1e4 mm from the origin costs a digit";
  }
}

TEST(SignedArea, IsAdditive) {
  // Cut along a diagonal of a convex outline: the two parts make the whole.
  const Polyline whole = {{0, 0}, {90, -10}, {140, 60}, {80, 120}, {-20, 70}};
  const Polyline one = {whole[0], whole[1], whole[2]}, other = {whole[0], whole[2], whole[3], whole[4]};
  EXPECT_NEAR(signed_area(whole), signed_area(one) + signed_area(other), rounding_mm2);
}

TEST(SignedArea, OfNothingIsZero) {
  EXPECT_EQ(signed_area({}), 0);
  EXPECT_EQ(signed_area({{3, 4}, {5, 6}}), 0);
}

TEST(Centroid, MovesWithTheOutline) {
  std::mt19937 random(2);
  for (int draw = 0; draw < 50; ++draw) {
    const Polyline points = blob(random, 12);
    const Rigid2 by = motion(random);
    EXPECT_LT((centroid(moved(by, points)) - by * centroid(points)).norm(), rounding_mm);
  }
}

TEST(Centroid, IsWeightedByAreaNotByPoints) {
  const Polyline crowded_corner = {{0, 0}, {1, 0}, {2, 0}, {40, 0}, {40, 30}, {0, 30}, {0, 2}, {0, 1}};
  EXPECT_LT((centroid(crowded_corner) - Vec2(20, 15)).norm(), rounding_mm);
  EXPECT_LT((centroid({{2, 2}, {6, 4}}) - Vec2(4, 3)).norm(), rounding_mm) << "no area: the mean point";
  EXPECT_THROW(centroid({}), std::logic_error);
}

TEST(Length, CountsTheLastStretchOnlyWhenClosed) {
  EXPECT_NEAR(length(rectangle_40_by_30, true), 140, rounding_mm);
  EXPECT_NEAR(length(rectangle_40_by_30, false), 110, rounding_mm);
  EXPECT_EQ(length({}, true), 0);
  EXPECT_EQ(length({{1, 1}}, true), 0);
}

TEST(Contains, AgreesWithWhatTheStarShapeSays) {
  std::mt19937 random(3);
  for (int draw = 0; draw < 50; ++draw) {
    const Vec2 middle(120, -80);
    const Polyline points = star(random, 15, middle);
    const Rigid2 by = motion(random);
    for (const Vec2& corner : points) {
      EXPECT_TRUE(contains(moved(by, points), by * Vec2(middle + 0.99 * (corner - middle))));
      EXPECT_FALSE(contains(moved(by, points), by * Vec2(middle + 1.01 * (corner - middle))));
    }
  }
  EXPECT_FALSE(contains({}, {0, 0}));
}

TEST(DistanceTo, IsTheLeastOfACrowdOfPointsOnTheLine) {
  std::mt19937 random(4);
  const Polyline points = blob(random, 9);
  const std::size_t crowd = 20000;
  const Polyline on_it = resample_closed(points, crowd);
  // A crowd point is at most half a step from the nearest point of the line.
  const double half_step = length(points, true) / static_cast<double>(crowd) / 2;
  for (int draw = 0; draw < 20; ++draw) {
    const Vec2 from(uniform(random, -900, 900), uniform(random, -900, 900));
    double least = 1e300;
    for (const Vec2& p : on_it) least = std::min(least, (p - from).norm());
    const double distance = distance_to(points, from, true);
    EXPECT_LE(distance, least + rounding_mm);
    EXPECT_GE(distance, least - half_step);
  }
}

TEST(DistanceTo, LeavesTheClosingStretchOutWhenOpen) {
  EXPECT_NEAR(distance_to(rectangle_40_by_30, {-5, 15}, true), 5, rounding_mm);
  EXPECT_NEAR(distance_to(rectangle_40_by_30, {-5, 15}, false), std::hypot(5, 15), rounding_mm);
  EXPECT_NEAR(distance_to({{1, 1}}, {4, 5}, false), 5, rounding_mm);
  EXPECT_THROW(distance_to({}, {0, 0}, true), std::logic_error);
}

TEST(ResampleClosed, KeepsLengthAndAreaWhenEveryCornerIsHit) {
  const Polyline even = resample_closed(rectangle_40_by_30, 28);  // a point every 5 mm
  EXPECT_NEAR(length(even, true), 140, rounding_mm);
  EXPECT_NEAR(signed_area(even), 1200, rounding_mm2);
}

TEST(ResampleClosed, StepsAreEqualAlongTheOutlineAndStartAtItsFirstPoint) {
  std::mt19937 random(5);
  for (int draw = 0; draw < 20; ++draw) {
    const Polyline points = blob(random, 11);
    const std::size_t count = 5000;
    const Polyline even = resample_closed(points, count);
    ASSERT_EQ(even.size(), count);
    EXPECT_EQ(even[0], points[0]);
    const double total = length(points, true), step = total / static_cast<double>(count);
    std::size_t shorter = 0;
    for (std::size_t i = 0; i < count; ++i) {
      const double chord = (even[(i + 1) % count] - even[i]).norm();
      EXPECT_LE(chord, step + rounding_mm);
      if (chord < step - rounding_mm) ++shorter;
      EXPECT_LT(distance_to(points, even[i], true), rounding_mm);
    }
    EXPECT_LE(shorter, points.size()) << "a chord is shorter than its step only where it cuts a corner";
    EXPECT_GE(length(even, true), total - static_cast<double>(points.size()) * step);
  }
}

TEST(ResampleClosed, StandsPointsThatRepeat) {
  const Polyline repeated = {{0, 0}, {0, 0}, {40, 0}, {40, 30}, {40, 30}, {0, 30}, {0, 0}};
  EXPECT_NEAR(length(resample_closed(repeated, 28), true), 140, rounding_mm);
  EXPECT_THROW(resample_closed({{1, 1}, {1, 1}}, 4), std::logic_error);
  EXPECT_THROW(resample_closed(rectangle_40_by_30, 0), std::logic_error);
}

TEST(Rigid2, InverseAndOrderOfComposition) {
  std::mt19937 random(6);
  for (int draw = 0; draw < 50; ++draw) {
    const Rigid2 first = motion(random), then = motion(random);
    const Vec2 p(uniform(random, -500, 500), uniform(random, -500, 500));
    EXPECT_LT((first.inverse() * (first * p) - p).norm(), rounding_mm);
    EXPECT_LT(((then * first) * p - then * (first * p)).norm(), rounding_mm);
  }
  const Rigid2 quarter{std::numbers::pi / 2, Vec2(10, 0)};
  EXPECT_LT((quarter * Vec2(1, 0) - Vec2(10, 1)).norm(), rounding_mm) << "counter-clockwise, then the shift";
}

TEST(FitRigid, RecoversAKnownMotion) {
  std::mt19937 random(7);
  for (int draw = 0; draw < 100; ++draw) {
    // Around the origin, where 1e-12 mm is above the rounding of a double.
    Polyline source;
    for (int i = 0; i < 2 + draw; ++i) source.push_back({uniform(random, -1, 1), uniform(random, -1, 1)});
    const Rigid2 truth{uniform(random, -3.1, 3.1), {uniform(random, -1, 1), uniform(random, -1, 1)}};
    const Rigid2 fit = fit_rigid(source, moved(truth, source));
    EXPECT_NEAR(fit.angle, truth.angle, rounding_rad) << "draw " << draw;
    EXPECT_LT((fit.shift - truth.shift).norm(), 1e-12) << "draw " << draw;
  }
}

TEST(FitRigid, IsTheLeastSquaresOptimum) {
  std::mt19937 random(8);
  const Polyline source = blob(random, 20);
  Polyline target = moved({0.4, Vec2(12, -7)}, source);
  for (Vec2& p : target) p += Vec2(uniform(random, -2, 2), uniform(random, -2, 2));
  const auto cost = [&](const Rigid2& m) {
    double sum = 0;
    for (std::size_t i = 0; i < source.size(); ++i) sum += (m * source[i] - target[i]).squaredNorm();
    return sum;
  };
  const Rigid2 fit = fit_rigid(source, target);
  for (const double sign : {-1.0, 1.0}) {
    EXPECT_GT(cost({fit.angle + sign * 1e-4, fit.shift}), cost(fit));
    EXPECT_GT(cost({fit.angle, fit.shift + Vec2(sign * 1e-2, 0)}), cost(fit));
    EXPECT_GT(cost({fit.angle, fit.shift + Vec2(0, sign * 1e-2)}), cost(fit));
  }
}

TEST(FitRigid, NeverMirrors) {
  const Polyline flag = {{0, 0}, {60, 0}, {60, 20}, {10, 20}, {10, 90}, {0, 90}};
  Polyline mirrored = flag;
  for (Vec2& p : mirrored) p.x() = -p.x();
  const Rigid2 fit = fit_rigid(flag, mirrored);
  double worst = 0;
  for (std::size_t i = 0; i < flag.size(); ++i) worst = std::max(worst, (fit * flag[i] - mirrored[i]).norm());
  EXPECT_GT(worst, 10) << "a mirrored flag must not be fitted";
  EXPECT_EQ(fit_rigid({{1, 2}}, {{5, 7}}).angle, 0);
  EXPECT_THROW(fit_rigid(flag, {{0, 0}}), std::logic_error);
  EXPECT_THROW(fit_rigid({}, {}), std::logic_error);
}

TEST(BoundingBox, HoldsEveryPointAndTouchesFour) {
  const Box box = bounding_box({{3, 9}, {-4, 2}, {7, -1}});
  EXPECT_EQ(box.min, Vec2(-4, -1));
  EXPECT_EQ(box.max, Vec2(7, 9));
  EXPECT_EQ(box.size(), Vec2(11, 10));
  EXPECT_EQ(box.centre(), Vec2(1.5, 4));
  EXPECT_GT(bounding_box({}).min.x(), bounding_box({}).max.x()) << "empty";
}

TEST(YDownFromYUp, IsItsOwnInverse) {
  EXPECT_EQ(y_down_from_y_up({3, 10}, 252), Vec2(3, 242));
  EXPECT_EQ(y_down_from_y_up(y_down_from_y_up({3, 10}, 252), 252), Vec2(3, 10));
}

}  // namespace
}  // namespace chalkfold::geometry
