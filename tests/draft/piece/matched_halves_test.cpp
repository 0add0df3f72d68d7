// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/matched_halves.h"

#include <gtest/gtest.h>

#include "pipeline/common/require.h"

namespace chalkfold::draft {
namespace {

/// From (0, 0) out to x = 100 and back to the axis at y = 200, a point every 10 mm; `higher` moves its lines apart from another half's.
Half half_of(double higher = 0) {
  Half half;
  const Polyline corners = {{0, 0}, {100 + higher, 0}, {100 + higher, 200}, {0, 200}};
  for (std::size_t i = 0; i + 1 < corners.size(); ++i) {
    const Vec2 d = corners[i + 1] - corners[i];
    const int steps = static_cast<int>(d.norm() / 10);
    for (int k = 0; k < steps; ++k) half.path.points.push_back(corners[i] + d * k / steps);
  }
  half.path.points.push_back(corners.back());
  half.path.sigma.assign(half.path.points.size(), 0.1);
  half.path.U.assign(half.path.points.size(), 0.2);
  half.stations = {0};
  for (std::size_t i = 1; i < half.path.points.size(); ++i)
    half.stations.push_back(half.stations.back() + (half.path.points[i] - half.path.points[i - 1]).norm());
  return half;
}

// A notch that the corner finder tells as two corners at one place, turning against each other.
TEST(MatchedHalves, OfTwoCornersAtOneStationEachKeepsItsOwnTurn) {
  Half right = half_of(), left = half_of(2);
  right.corners = {{100, {100, 0}, 1.5}, {100, {100, 0}, -0.75}, {300, {100, 200}, 1.25}};
  left.corners = {{102, {102, 0}, 1.4}, {102, {102, 0}, -0.7}, {302, {102, 200}, 1.2}};
  const std::vector<Anchor> anchors = matched(right, left);
  ASSERT_EQ(anchors.size(), 5u);
  const Half mean = folded(right, left, anchors, Fold::mean);
  ASSERT_EQ(mean.corners.size(), 3u);
  EXPECT_EQ(mean.corners[0].turn, 1.5);
  EXPECT_EQ(mean.corners[1].turn, -0.75);
  EXPECT_EQ(mean.corners[2].turn, 1.25);
  EXPECT_NEAR(mean.corners[2].point.x(), 101, 1e-9) << "midway between both halves' corners";
  EXPECT_NEAR(mean.corners[2].point.y(), 200, 1e-9);
}

TEST(MatchedHalves, AnchorsOfOtherHalvesAreRefused) {
  Half right = half_of(), left = half_of(2);
  right.corners = {{100, {100, 0}, 1.5}};
  left.corners = {{102, {102, 0}, 1.4}};
  const std::vector<Anchor> anchors = matched(right, left);
  Half other = half_of();
  EXPECT_THROW(folded(other, left, anchors, Fold::mean), PreconditionError) << "it has no such corner";
  EXPECT_THROW(folded(right, left, {}, Fold::mean), PreconditionError);
  EXPECT_THROW(folded(right, left, {{0, 0, false, {}}}, Fold::mean), PreconditionError);
  right.mark_stations = {50};
  EXPECT_THROW(folded(right, left, anchors, Fold::mean), PreconditionError) << "a station without its mark";
}

TEST(MatchedHalves, AHalfWithoutPointsIsRefused) {
  EXPECT_THROW(Half{}.at(0), PreconditionError);
  EXPECT_THROW(Half{}.length(), PreconditionError);
  Half right, left;
  panel::Contour bare;
  bare.points = {{-10, 0}, {10, 0}, {10, 10}, {-10, 10}};
  EXPECT_THROW(cut_into_halves(bare, {}, {}, right, left), PreconditionError) << "neither sigma nor U";
}

// A mark that only the left half has is drawn with nothing on the right, whatever its number; 1007 and 7 + 1000 are two groups.
TEST(MatchedHalves, AGroupOfTheLeftHalfIsNoneOfTheRight) {
  Half right = half_of(), left = half_of();
  OutlineMark mark;
  mark.foot = {100, 60};
  mark.group = {1007};
  right.marks = {mark};
  right.mark_stations = {160};
  mark.foot = {100, 120};
  mark.group = {7};
  left.marks = {mark};
  left.mark_stations = {220};
  const Half mean = folded(right, left, {{0, 0, false, {}}, {400, 400, false, {}}}, Fold::mean);
  ASSERT_EQ(mean.marks.size(), 2u);
  EXPECT_NE(mean.marks[0].group, mean.marks[1].group);
  EXPECT_EQ(mean.marks[0].group, MarkGroup{1007});
  EXPECT_EQ(mean.marks[1].group, (MarkGroup{7, true}));
}

}  // namespace
}  // namespace chalkfold::draft
