// SPDX-License-Identifier: Apache-2.0
#include "demo/design/hand_drawing.h"

#include <gtest/gtest.h>

#include <cmath>

namespace chalkfold::demo {
namespace {

TEST(HandDrawn, StraysNoFurtherThanAskedAndEndsWhereItShould) {
  Random random(3);
  const Polyline line{{0, 0}, {200, 0}}, drawn = hand_drawn(line, 0.5, random);
  EXPECT_EQ(drawn.front(), line.front());
  EXPECT_LT((drawn.back() - line.back()).norm(), 1e-9);
  double most = 0;
  for (const Vec2& p : drawn) most = std::max(most, std::abs(p.y()));
  EXPECT_LE(most, 0.5);
  EXPECT_GT(most, 0.1);
  Random again(3);
  EXPECT_EQ(hand_drawn(line, 0.5, again), drawn);
}

TEST(Rounded, CutsCornersAndKeepsEnds) {
  const Polyline line{{0, 0}, {10, 0}, {10, 10}}, curve = rounded(line, 2);
  EXPECT_EQ(curve.front(), line.front());
  EXPECT_EQ(curve.back(), line.back());
  EXPECT_GT(geometry::distance_to(curve, line[1], false), 0.5);
  EXPECT_EQ(rounded({{0, 0}, {1, 0}}, 2).size(), 2U) << "a straight stroke has no corner";
}

TEST(FilledHead, FillsATriangleAndNothingElse) {
  std::vector<StrokeField::Stroke> strokes;
  add_filled_head(strokes, {100, 50}, {1, 0}, 20);
  const StrokeField field(strokes, 1);
  for (const Vec2& inside : {Vec2(97, 50), Vec2(90, 52), Vec2(90, 48), Vec2(82, 53.5), Vec2(82, 50)})
    EXPECT_LT(field.nearest(inside).gap, 0) << inside.transpose();
  for (const Vec2& outside : {Vec2(101, 50), Vec2(95, 53), Vec2(82, 56.5), Vec2(78, 50)})
    EXPECT_GT(field.nearest(outside).gap, 0) << outside.transpose();
}

}  // namespace
}  // namespace chalkfold::demo
