// SPDX-License-Identifier: Apache-2.0
#include "demo/design/panel_cuts.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "demo/design/lay_panel.h"
#include "pipeline/common/require.h"

namespace chalkfold::demo {
namespace {

Polyline outline_of(const PanelDesign& d) {
  Polyline out;
  for (const DesignEdge& e : d.edges) {
    const Polyline part = sampled(e, 0.5);
    out.insert(out.end(), part.begin(), part.end());
  }
  return out;
}

DesignEdge line(const Vec2& a, const Vec2& b) { return {a, a + (b - a) / 3, b - (b - a) / 3, b}; }

PanelDesign square() {
  PanelDesign d{.name = "square", .symmetric = true};
  d.edges = {line({-150, -150}, {150, -150}), line({150, -150}, {150, 150}), line({150, 150}, {-150, 150}),
             line({-150, 150}, {-150, -150})};
  d.matches = {{0, 0.5}, {1, 0.2}, {2, 0.5}, {3, 0.8}};
  d.notches = {{2, 0.1, NotchKind::vee, 5}};
  return d;
}

bool same_ends(const PanelDesign& d) {
  for (std::size_t i = 0; i < d.edges.size(); ++i) {
    if ((d.edges[i].to - d.edges[(i + 1) % d.edges.size()].from).norm() > 1e-9) return false;
  }
  return true;
}

TEST(WithSlot, TakesAwayItsWidthTimesItsDepth) {
  for (const double curvature : {0.0, 0.008, -0.008}) {
    const SlotCut cut{.edge = 1, .along = 0.5, .width = 8, .depth = 90, .curvature = curvature, .round_end = false};
    const auto made = with_slot(square(), cut);
    ASSERT_TRUE(made);
    EXPECT_TRUE(same_ends(*made));
    // A band around a middle line has the area of its length times its width, however it bends.
    constexpr double area_mm2 = 0.5;  // the arcs' cubics, and chords of 0.5 mm
    EXPECT_NEAR(geometry::signed_area(outline_of(*made)), 300 * 300 - 8 * 90, area_mm2) << curvature;
  }
  const auto round = with_slot(square(), {.edge = 1, .width = 8, .depth = 90});
  ASSERT_TRUE(round);
  EXPECT_NEAR(geometry::signed_area(outline_of(*round)), 300 * 300 - 8 * 86 - std::numbers::pi * 16 / 2, 0.5);
}

TEST(WithSlot, HasItsWidthAllTheWay) {
  const auto made = with_slot(square(), {.edge = 1, .width = 10, .depth = 100, .curvature = 0.007});
  ASSERT_TRUE(made);
  const Polyline outline = outline_of(*made);
  const SlotInPanel& slot = made->slots.at(0);
  EXPECT_LT((slot.mouth - Vec2(150, 0)).norm(), 1e-9);
  EXPECT_LT((slot.direction - Vec2(-1, 0)).norm(), 1e-9);
  const double reach = 0.5 * slot.width;
  // Along the middle line the outline is half a width away, behind the mouth and before the end.
  const double radius = 1 / 0.007;
  for (double s = 6; s < 95; s += 3) {
    const Vec2 at(150 - radius * std::sin(s / radius), -radius * (1 - std::cos(s / radius)));
    constexpr double width_mm = 0.02;
    EXPECT_NEAR(geometry::distance_to(outline, at, true), reach, width_mm) << s;
    EXPECT_FALSE(geometry::contains(outline, at)) << s;
  }
  EXPECT_NEAR(geometry::distance_to(outline, slot.end, true), 0, 0.02);
}

TEST(WithSlot, RenumbersWhatHangsOnOtherEdges) {
  const auto made = with_slot(square(), {.edge = 1, .width = 8, .depth = 40});
  ASSERT_TRUE(made);
  ASSERT_EQ(made->matches.size(), 3U) << "that of the cut edge is gone";
  EXPECT_FALSE(made->symmetric);
  for (const MatchAt& m : made->matches) {
    const DesignEdge& e = made->edges[static_cast<std::size_t>(m.edge)];
    EXPECT_NEAR((e.to - e.from).norm(), 300, 1e-9) << m.edge;
  }
  EXPECT_EQ(made->edges[static_cast<std::size_t>(made->notches.at(0).edge)].from, square().edges[2].from);
}

TEST(WithSlot, IsRefusedWithoutRoom) {
  EXPECT_FALSE(with_slot(square(), {.edge = 1, .width = 8, .depth = 285})) << "through to the other side";
  EXPECT_FALSE(with_slot(square(), {.edge = 1, .along = 0.05, .width = 8, .depth = 40})) << "beside a corner";
  const auto first = with_slot(square(), {.edge = 1, .width = 8, .depth = 150});
  ASSERT_TRUE(first);
  EXPECT_FALSE(with_slot(*first, {.edge = 0, .along = 0.6, .width = 8, .depth = 180})) << "across another";
  EXPECT_THROW(with_slot(square(), {.edge = 4}), PreconditionError);
}

TEST(WithWedge, HasTheAngleAndTheDepthAskedFor) {
  const double angle = 0.9;
  const auto made = with_wedge(square(), {.edge = 2, .along = 0.6, .angle = angle, .depth = 40});
  ASSERT_TRUE(made);
  EXPECT_TRUE(same_ends(*made));
  ASSERT_EQ(made->inner_corners.size(), 1U);
  EXPECT_NEAR(made->inner_corners[0].angle, angle, 1e-9);
  EXPECT_LT((made->inner_corners[0].at - Vec2(-30, 110)).norm(), 1e-6);
  EXPECT_NEAR(geometry::signed_area(outline_of(*made)), 300 * 300 - 40 * 40 * std::tan(angle / 2), 1e-3);
}

TEST(Parted, PartsFitTogether) {
  const PanelDesign whole = panel_design(DesignKind::back_outer);
  const auto [a, b] =
      parted(whole, {.from_edge = 1, .to_edge = 5, .from_along = 0.4, .to_along = 0.6, .bulge = {20, -12}});
  EXPECT_TRUE(same_ends(a));
  EXPECT_TRUE(same_ends(b));
  constexpr double area_mm2 = 1;  // of 240 000, chords of 0.5 mm
  EXPECT_NEAR(geometry::signed_area(outline_of(a)) + geometry::signed_area(outline_of(b)),
              geometry::signed_area(outline_of(whole)), area_mm2);
  EXPECT_EQ(a.edges.back().control1, b.edges.back().control2);
  EXPECT_EQ(a.holes.size() + b.holes.size(), whole.holes.size());
  EXPECT_EQ(a.name, "back outer a");
  const auto mark_place = [](const PanelDesign& d, const MatchAt& m) {
    return sampled(d.edges[static_cast<std::size_t>(m.edge)], 1)[3];
  };
  for (const PanelDesign* part : {&a, &b}) {
    for (const MatchAt& m : part->matches) {
      const Vec2 at = mark_place(*part, m);
      EXPECT_LT(geometry::distance_to(outline_of(whole), at, true), 0.01) << "marks stay on edges of the whole";
    }
  }
  EXPECT_THROW(parted(whole, {.from_edge = 5, .to_edge = 1}), PreconditionError);
}

TEST(LayPanel, TellsOfSlotsAndInnerCornersOnTheTable) {
  const auto slotted = with_slot(square(), {.edge = 1, .width = 8, .depth = 60, .lean = 0.2});
  ASSERT_TRUE(slotted);
  const auto both = with_wedge(*slotted, {.edge = 0, .along = 0.3});
  ASSERT_TRUE(both);
  LayOptions lay;
  lay.table_from_panel = {0.7, {40, -20}};
  lay.wear = {0, 2};
  const LaidPanel panel = lay_panel(*both, lay);
  ASSERT_EQ(panel.slots.size(), 1U);
  ASSERT_EQ(panel.inner_corners.size(), 1U);
  constexpr double outline_mm = 0.05;
  EXPECT_LT(geometry::distance_to(panel.outline, panel.inner_corners[0].at, true), outline_mm);
  EXPECT_LT(geometry::distance_to(panel.outline, panel.slots[0].end, true), outline_mm);
  const Vec2 within = panel.slots[0].mouth + 30 * panel.slots[0].direction;
  EXPECT_FALSE(geometry::contains(panel.outline, within));
  EXPECT_NEAR(geometry::distance_to(panel.outline, within, true), 4, 0.1) << "half its width";
}

}  // namespace
}  // namespace chalkfold::demo
