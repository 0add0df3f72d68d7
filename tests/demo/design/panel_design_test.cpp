// SPDX-License-Identifier: Apache-2.0
#include "demo/design/panel_design.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace chalkfold::demo {
namespace {

Polyline outline_of(const PanelDesign& design) {
  Polyline out;
  for (const DesignEdge& e : design.edges) {
    const Polyline part = sampled(e, 0.7);
    out.insert(out.end(), part.begin(), part.end());
  }
  return out;
}

TEST(PanelDesign, EveryPanelClosesAndRunsCounterClockwise) {
  for (const DesignKind kind : launch_set) {
    const PanelDesign d = panel_design(kind);
    for (std::size_t i = 0; i < d.edges.size(); ++i) {
      EXPECT_EQ(d.edges[i].to, d.edges[(i + 1) % d.edges.size()].from) << d.name << " edge " << i;
    }
    EXPECT_GT(geometry::signed_area(outline_of(d)), 10000) << d.name;  // mm2: the smallest, the piping strip, has 24000
  }
}

TEST(PanelDesign, SymmetricPanelsAreTheirOwnMirrorImage) {
  constexpr double exact_mm = 1e-9;
  for (const DesignKind kind : launch_set) {
    const PanelDesign d = panel_design(kind);
    if (!d.symmetric) continue;
    const Polyline outline = outline_of(d);
    for (const Vec2& p : outline) {
      ASSERT_LT(geometry::distance_to(outline, {-p.x(), p.y()}, true), exact_mm) << d.name << " at " << p.transpose();
    }
  }
}

TEST(PanelDesign, TheOtherHandIsAMirrorImageWithReadableWriting) {
  const PanelDesign left = panel_design(DesignKind::bolster_left), right = panel_design(DesignKind::bolster_right);
  const Polyline outline = outline_of(left), other = outline_of(right);
  constexpr double exact_mm = 1e-9, unlike_mm = 5;
  double worst = 0;
  for (const Vec2& p : outline) {
    ASSERT_LT(geometry::distance_to(other, {-p.x(), p.y()}, true), exact_mm);
    worst = std::max(worst, geometry::distance_to(other, p, true));
  }
  EXPECT_GT(worst, unlike_mm) << "left and right must not be the same shape";
  EXPECT_NEAR(geometry::signed_area(other), geometry::signed_area(outline), 1e-6);
  ASSERT_EQ(right.written.size(), 1U);
  EXPECT_EQ(right.written[0].text, "R");
}

}  // namespace
}  // namespace chalkfold::demo
