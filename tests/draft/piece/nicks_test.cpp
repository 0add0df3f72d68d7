// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/nicks.h"

#include <gtest/gtest.h>

#include "pipeline/geometry/edge_corners.h"
#include "pipeline/geometry/polygon.h"
#include "tests/draft/drawn_shapes.h"

namespace chalkfold::draft {
namespace {

/// A rectangle of 300 x 200 with cuts in its bottom edge: at 80 mm a V, at 180 mm a U.
panel::Contour nicked(double depth, double width) {
  const double w = 0.5 * width;
  const Polyline corners{{0, 0},           {80 - w, 0},  {80, depth}, {80 + w, 0}, {180 - w, 0}, {180 - w, depth},
                         {180 + w, depth}, {180 + w, 0}, {300, 0},    {300, 200},  {0, 200}};
  return drawn::measured(drawn::polygon(corners), 0.03);
}

TEST(Nicks, AreBridgedAndTold) {
  for (const double depth : {4.0, 8.0}) {
    std::vector<Nick> nicks;
    const panel::Contour whole = across_nicks(nicked(depth, 7), nicks);
    ASSERT_EQ(nicks.size(), 2u) << depth;
    EXPECT_NEAR(nicks[0].foot.x(), 80, 1);
    EXPECT_NEAR(nicks[0].depth, depth, 1);  // mm: points a millimetre apart may miss the tip of a V
    EXPECT_NEAR(nicks[1].depth, depth, 0.5);
    EXPECT_NEAR(geometry::signed_area(whole.points), 300 * 200, 30);
    EXPECT_EQ(geometry::find_edge_corners(whole.points).size(), 4u);
  }
}

TEST(Nicks, CornersOfTheShapeStay) {
  for (const geometry::Curve& shape :
       {drawn::rectangle(300, 200), drawn::star(340, 160),
        drawn::polygon({{0, 0}, {300, 0}, {300, 100}, {120, 100}, {120, 260}, {0, 260}}), drawn::rectangle(300, 16),
        drawn::polygon({{0, 0}, {200, 0}, {210, 10}, {210, 150}, {0, 150}})}) {
    const panel::Contour contour = drawn::measured(shape, 0.05);
    std::vector<Nick> nicks;
    const panel::Contour same = across_nicks(contour, nicks);
    EXPECT_TRUE(nicks.empty());
    EXPECT_EQ(same.points.size(), contour.points.size());
  }
}

TEST(Nicks, ADeepCutBelongsToTheShape) {  // 12 mm
  std::vector<Nick> nicks;
  across_nicks(nicked(12, 12), nicks);
  EXPECT_TRUE(nicks.empty());
}

TEST(Nicks, ATabOfTheShapeIsNoNick) {  // 30 mm wide, 20 deep
  const Polyline corners{{0, 0}, {120, 0}, {120, 20}, {150, 20}, {150, 0}, {300, 0}, {300, 200}, {0, 200}};
  std::vector<Nick> nicks;
  EXPECT_EQ(
      geometry::find_edge_corners(across_nicks(drawn::measured(drawn::polygon(corners), 0.03), nicks).points).size(),
      8u);
  EXPECT_TRUE(nicks.empty());
}

}  // namespace
}  // namespace chalkfold::draft
