// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/join_outlines.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "pipeline/geometry/polygon.h"
#include "tests/survey/synthetic.h"

namespace chalkfold::trace {
namespace {

constexpr double width = 900, height = 500;  // mm
// Exact lines joined: what pairing points with segments of a millimetre leaves at a gentle bend.
constexpr double exact_mm = 0.01, corner_mm = 0.1;

Polyline true_outline() {
  return geometry::resample_closed({{0, 0}, {width, 0}, {width, height}, {0, height}},
                                   static_cast<std::size_t>(2 * (width + height)));
}

/// As trace sees it: a point about every millimetre, moved by noise along the normal (both axes: corners have none).
Polyline noisy(Polyline points, double sigma, survey::Random& random) {
  for (Vec2& p : points) p += Vec2(random.normal(sigma), random.normal(sigma));
  return points;
}

Polyline box(const Vec2& low, const Vec2& high) { return {low, {high.x(), low.y()}, high, {low.x(), high.y()}}; }

OutlineView whole(Polyline points, double U = 0.2) {
  const std::size_t n = points.size();
  return {std::move(points), std::vector<double>(n, 0.03), std::vector<double>(n, U), {}};
}

/// What a photo whose frame is 10 mm beyond `seen` shows: its outline runs along the frame there.
OutlineView part(const Polyline& points, const Vec2& low, const Vec2& high) {
  const Vec2 frame = Vec2::Constant(10);
  Polyline cut;
  for (const Vec2& p : points) cut.push_back(p.cwiseMax(low - frame).cwiseMin(high + frame));
  OutlineView view = whole(cut);
  view.seen = box(low, high);
  return view;
}

const Vec2 lower_left(-50, -50), upper_right(width + 50, height + 50);

/// Of the joined points from the true rectangle.
double worst_off(const JoinedOutline& joined) {
  const Polyline truth = {{0, 0}, {width, 0}, {width, height}, {0, height}};
  double most = 0;
  for (const Vec2& p : joined.points) most = std::max(most, geometry::distance_to(truth, p, true));
  return most;
}

double corners_off(const JoinedOutline& joined) {
  double most = 0;
  for (const Vec2& c : {Vec2(0, 0), Vec2(width, 0), Vec2(width, height), Vec2(0, height)})
    most = std::max(most, geometry::distance_to(joined.points, c, true));
  return most;
}

void expect_shares_are_whole(const JoinedOutline& joined) {
  for (std::size_t i = 0; i < joined.points.size(); ++i) {
    double sum = 0;
    for (const auto& view : joined.weights) sum += view[i];
    ASSERT_NEAR(sum, 1, 1e-9) << "point " << i;
  }
}

TEST(JoinOutlines, TwoOverlappingPartsGiveTheWhole) {
  const Polyline truth = true_outline();
  const auto joined =
      join_outlines({part(truth, lower_left, {520, height + 50}), part(truth, {400, -50}, upper_right)});
  ASSERT_TRUE(joined);
  EXPECT_LT(worst_off(*joined), exact_mm);
  EXPECT_LT(corners_off(*joined), corner_mm);
  EXPECT_NEAR(geometry::signed_area(joined->points), width * height, 20) << "counter-clockwise";
  expect_shares_are_whole(*joined);
}

TEST(JoinOutlines, FourPartsGiveTheWhole) {
  const Polyline truth = true_outline();
  const auto joined =
      join_outlines({part(truth, lower_left, {500, 300}), part(truth, {400, -50}, {width + 50, 300}),
                     part(truth, {-50, 200}, {500, height + 50}), part(truth, {400, 200}, upper_right)});
  ASSERT_TRUE(joined);
  EXPECT_LT(worst_off(*joined), exact_mm);
  EXPECT_LT(corners_off(*joined), corner_mm);
  expect_shares_are_whole(*joined);
}

TEST(JoinOutlines, AWholeAndAPartShareWhereBothSee) {
  const Polyline truth = true_outline();
  const auto joined = join_outlines({whole(truth), part(truth, {400, -50}, upper_right)});
  ASSERT_TRUE(joined);
  EXPECT_LT(worst_off(*joined), exact_mm);
  for (std::size_t i = 0; i < joined->points.size(); ++i) {
    const Vec2& p = joined->points[i];
    if (p.x() < 399) {
      EXPECT_EQ(joined->weights[1][i], 0) << p.x();
    } else if (p.x() > 470 &&
               p.x() < width - 20) {  // beyond the feather of the left border; the lower one is 50 mm off
      EXPECT_NEAR(joined->weights[1][i], 0.47, 0.04) << p.x();
    }
  }
}

TEST(JoinOutlines, AGapIsToldWithItsPlaceAndLength) {
  const Polyline truth = true_outline();
  OutlineGap gap;
  EXPECT_FALSE(
      join_outlines({part(truth, lower_left, {400, height + 50}), part(truth, {300, -50}, {700, height + 50})}, &gap));
  EXPECT_GT(gap.at.x(), 650);
  // At least across the panel where the last photo ends.
  EXPECT_NEAR(gap.length, height, 60);
}

TEST(JoinOutlines, PartsThatDoNotMeetLeaveAGap) {
  const Polyline truth = true_outline();
  EXPECT_FALSE(join_outlines({part(truth, lower_left, {300, height + 50}), part(truth, {500, -50}, upper_right)}));
}

TEST(JoinOutlines, NoiseAveragesDownBySigma) {
  survey::Random random(7);
  constexpr double sigma = 0.1;
  const auto rms_of = [&](int views) {
    std::vector<OutlineView> all;
    for (int v = 0; v < views; ++v) all.push_back(whole(noisy(true_outline(), sigma, random)));
    const auto joined = join_outlines(all);
    const Polyline truth = {{0, 0}, {width, 0}, {width, height}, {0, height}};
    double sum = 0;
    for (const Vec2& p : joined->points) sum += std::pow(geometry::distance_to(truth, p, true), 2);
    EXPECT_NEAR(joined->sigma[100], 0.03 / std::sqrt(views), 1e-3);
    return std::sqrt(sum / static_cast<double>(joined->points.size()));
  };
  // 2800 points; the scatter of such an rms is 2 %, nearest places on a jagged line a few more.
  EXPECT_NEAR(rms_of(4) / rms_of(1), 0.5, 0.08);
}

TEST(JoinOutlines, TheMoreCertainViewCountsMore) {
  Polyline off = true_outline();
  for (Vec2& p : off) p.y() += 0.5;
  const auto joined = join_outlines({whole(true_outline(), 0.1), whole(off, 0.2)});
  ASSERT_TRUE(joined);
  const auto top = std::max_element(joined->points.begin(), joined->points.end(),
                                    [](const Vec2& a, const Vec2& b) { return a.y() < b.y(); });
  EXPECT_NEAR(top->y(), height + 0.5 / 5, exact_mm) << "weights 1 / U2: 4 to 1";
}

TEST(JoinOutlines, NoStepWhereAViewTakesOver) {
  Polyline higher = true_outline();
  for (Vec2& p : higher) p.y() += 0.6;  // as two photos of one setup may disagree
  const auto joined =
      join_outlines({part(true_outline(), lower_left, {560, height + 50}), part(higher, {340, -50}, upper_right)});
  ASSERT_TRUE(joined);
  double step = 0;
  for (std::size_t i = 0; i < joined->points.size(); ++i) {
    const Vec2 &a = joined->points[i], &b = joined->points[(i + 1) % joined->points.size()];
    if (a.x() > 20 && a.x() < width - 20 && a.y() < 100 && b.y() < 100) step = std::max(step, std::abs(b.y() - a.y()));
  }
  // Over 220 mm of overlap, faded in over 60 mm at each end: 0.6 mm in some 100 steps.
  EXPECT_LT(step, 0.03);
}

TEST(JoinOutlines, WhatLiesOutsideSeenHasNoInfluence) {
  const Polyline truth = true_outline();
  const OutlineView left = part(truth, lower_left, {520, height + 50}), right = part(truth, {400, -50}, upper_right);
  OutlineView spoilt = left;
  survey::Random random(9);
  for (Vec2& p : spoilt.points)
    if (p.x() > 521) p += Vec2(random.uniform(0, 9), random.uniform(-200, 200));
  const auto a = join_outlines({left, right}), b = join_outlines({spoilt, right});
  ASSERT_TRUE(a && b);
  EXPECT_LT(worst_off(*b), exact_mm);
}

TEST(JoinOutlines, AViewThatPutsTheEdgeElsewhereIsToldAsContrary) {
  const Polyline truth = true_outline();
  Polyline moved = truth;
  for (Vec2& p : moved) p.y() += 5;
  const auto joined = join_outlines({whole(truth), part(moved, {300, -50}, upper_right)});
  ASSERT_TRUE(joined);
  // Of both long edges 600 mm lie within what the part sees; its feathered rims do not count.
  EXPECT_GT(std::count(joined->contrary[1].begin(), joined->contrary[1].end(), true), 800);
  const auto good = join_outlines({whole(truth), part(truth, {300, -50}, upper_right)});
  ASSERT_TRUE(good);
  for (const auto& view : good->contrary) EXPECT_EQ(std::count(view.begin(), view.end(), true), 0);
}

}  // namespace
}  // namespace chalkfold::trace
