// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/offset.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <numbers>

#include "pipeline/geometry/polygon.h"
#include "tests/draft/drawn_shapes.h"

namespace chalkfold::geometry {
namespace {

constexpr double area_share = 2e-4;  // the bar: 0.02 %

std::vector<OffsetEdge> each(const Curve& shape, double distance) {
  std::vector<OffsetEdge> edges;
  for (const CurveSegment& s : shape) edges.push_back({{s}, distance});
  return edges;
}

double area_of(const OffsetResult& result) {
  Curve all;
  for (const Curve& edge : result.edges) all.insert(all.end(), edge.begin(), edge.end());
  return signed_area(flattened(all, 0.0005));
}

void expect_end_to_end(const OffsetResult& result) {
  for (std::size_t i = 0; i < result.edges.size(); ++i) {
    const Curve &here = result.edges[i], &next = result.edges[(i + 1) % result.edges.size()];
    EXPECT_LT((here.back().to - next.front().from).norm(), 1e-9) << "edge " << i;
    for (std::size_t k = 0; k + 1 < here.size(); ++k)
      EXPECT_LT((here[k].to - here[k + 1].from).norm(), 1e-9) << "edge " << i;
  }
}

TEST(Offset, RectangleMitredHasItsClosedForm) {  // a b + 2 d (a + b) + 4 d^2
  const double a = 420, b = 300, d = 10;
  const OffsetResult result = offset_edges(each(drawn::rectangle(a, b), d));
  EXPECT_TRUE(result.whole());
  expect_end_to_end(result);
  EXPECT_NEAR(area_of(result) / (a * b + 2 * d * (a + b) + 4 * d * d), 1, area_share);
}

TEST(Offset, CircleHasItsClosedForm) {  // pi (r + d)^2
  const double r = 140, d = 10;
  const OffsetResult result = offset_edges({{drawn::circle(r), d}});
  EXPECT_TRUE(result.whole());
  EXPECT_NEAR(area_of(result) / (std::numbers::pi * (r + d) * (r + d)), 1, area_share);
  EXPECT_EQ(result.edges[0].size(), 2u);
  for (const CurveSegment& s : result.edges[0]) EXPECT_NEAR(s.radius(), r + d, 1e-9);
}

TEST(Offset, EachEdgeKeepsItsOwnWidth) {  // left, right, bottom and top of a rectangle
  auto edges = each(drawn::rectangle(400, 200), 0);
  const double width[] = {10, 25, 5, 0};  // bottom, right, top, left
  for (std::size_t i = 0; i < 4; ++i) edges[i].distance = width[i];
  const OffsetResult result = offset_edges(edges);
  EXPECT_TRUE(result.whole());
  expect_end_to_end(result);
  EXPECT_NEAR(area_of(result), (400 + 25 + 0) * (200 + 10 + 5), 1e-6);
}

TEST(Offset, ConcaveCornerIsTrimmed) {  // an L: outside, its inner corner moves inward along both sides
  const Polyline corners{{0, 0}, {300, 0}, {300, 100}, {120, 100}, {120, 260}, {0, 260}};
  const double d = 10;
  const OffsetResult result = offset_edges(each(drawn::polygon(corners), d));
  EXPECT_TRUE(result.whole());
  expect_end_to_end(result);
  const Polyline expected{{-d, -d},           {300 + d, -d},      {300 + d, 100 + d},
                          {120 + d, 100 + d}, {120 + d, 260 + d}, {-d, 260 + d}};
  EXPECT_NEAR(area_of(result), signed_area(expected), 1e-6);
}

TEST(Offset, OutThenInComesBack) {
  const Curve shape = drawn::rounded_trapezoid();
  const OffsetResult out = offset_edges({{shape, 12}});
  const OffsetResult back = offset_edges({{out.edges[0], -12}});
  EXPECT_TRUE(back.whole());
  EXPECT_NEAR(area_of(back), signed_area(flattened(shape, 0.0005)), 1e-3);
}

TEST(Offset, ParallelOfACubicKeepsItsDistance) {
  CurveSegment cubic = drawn::line({0, 0}, {400, 0});
  cubic.kind = CurveSegment::Kind::cubic;
  cubic.control1 = {120, -60};
  cubic.control2 = {300, -20};
  for (const bool cubics : {false, true}) {
    OffsetOptions options;
    options.keep_cubics = cubics;
    const OffsetResult result = offset_edges(
        {{{cubic}, 10}, {{drawn::line({400, 0}, {200, 300})}, 10}, {{drawn::line({200, 300}, {0, 0})}, 10}}, options);
    EXPECT_TRUE(result.whole());
    expect_end_to_end(result);
    const Polyline truth = flattened({cubic}, 0.0005);
    RecordProperty("segments", static_cast<int>(result.edges[0].size()));
    const Curve middle = part_between(result.edges[0], 20, length(result.edges[0]) - 20);
    for (const Vec2& p : flattened(middle, 0.001)) EXPECT_NEAR(distance_to(truth, p, false), 10, 0.02) << p.transpose();
    for (const CurveSegment& s : result.edges[0]) EXPECT_TRUE(cubics || s.kind != CurveSegment::Kind::cubic);
  }
}

TEST(Offset, ASharpPointIsCutSquareAtTheMitreLimit) {
  const Polyline corners{
      {0, 0}, {300, -12}, {300, 12}};  // 4.6 degrees at the first corner: the mitre would reach 250 mm
  const OffsetResult result = offset_edges(each(drawn::polygon(corners), 10));
  EXPECT_TRUE(result.whole());
  expect_end_to_end(result);
  double reach = 0;
  for (const Vec2& p : result.line) reach = std::max(reach, -p.x());
  EXPECT_NEAR(reach, 30, 0.5);  // three times the distance
}

TEST(Offset, AStripNarrowerThanBothAllowancesIsToldOf) {
  const OffsetResult result = offset_edges(each(drawn::rectangle(300, 16), -10));
  EXPECT_FALSE(result.whole());
}

TEST(Offset, ABendTighterThanTheDistanceIsToldOfWithItsPlace) {
  const Curve shape = drawn::polygon({{0, 0}, {300, 0}, {300, 200}, {0, 200}}, 6);
  const OffsetResult result = offset_edges({{shape, -10}});
  ASSERT_FALSE(result.whole());
  EXPECT_EQ(result.troubles[0].kind, OffsetTrouble::Kind::bend_too_tight);
  EXPECT_LT(distance_to(flattened(shape, 0.1), result.troubles[0].at, true), 0.1);
}

TEST(Offset, CrossingParallelsAreFoundWhereTheyCross) {  // a neck of 14 mm between two rooms, both sides moved in by 10
  const Polyline corners{{0, 0},     {100, 0},   {100, 93},  {200, 93},  {200, 0},   {300, 0},
                         {300, 200}, {200, 200}, {200, 107}, {100, 107}, {100, 200}, {0, 200}};
  const OffsetResult result = offset_edges(each(drawn::polygon(corners), -10));
  ASSERT_FALSE(result.whole());
  for (const OffsetTrouble& t : result.troubles) {
    EXPECT_GT(t.at.x(), 80);
    EXPECT_LT(t.at.x(), 220);
    EXPECT_NEAR(t.at.y(), 100, 15);
  }
}

TEST(SelfCrossings, ALongPlankThatLiesAslantHasNone) {  // rounding moves its area by more than small loops have
  Polyline plank = {{0, 0}, {9970, 0}, {9970, 211}, {0, 211}};
  for (int turn = 1; turn < 40; ++turn) {
    Polyline laid;
    for (const Vec2& p : plank) laid.push_back(Eigen::Rotation2Dd(0.0371 * turn) * p);
    EXPECT_THAT(self_crossings(laid), testing::IsEmpty()) << turn;
  }
}

TEST(PartBetween, PartsAddUp) {
  const Curve shape = drawn::stadium(240, 90);
  const double whole = length(shape);
  const Curve first = part_between(shape, 0, 333), rest = part_between(shape, 333, whole);
  EXPECT_NEAR(length(first), 333, 1e-9);
  EXPECT_NEAR(length(first) + length(rest), whole, 1e-9);
  EXPECT_LT((first.back().to - rest.front().from).norm(), 1e-9);
  EXPECT_LT((first.back().to - place_along(shape, 333).point).norm(), 1e-9);
}

}  // namespace
}  // namespace chalkfold::geometry
