// SPDX-License-Identifier: Apache-2.0
// Rings made of lines: whole ones, ones in pieces, drawn past their beginning, open, and what is none.
#include "pipeline/trace/chalk/rings.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/regions.h"

namespace chalkfold::trace {
namespace {

constexpr double width = 2.4;        // mm, of the chalk
constexpr double area_share = 0.01;  // of a ring's area: corners of polylines, and the disc that takes loose ends off
constexpr double place = 0.3;        // mm

/// A part of a circle, from one angle (rad) to another, its radius growing by `drift` mm.
ChalkLine arc(const Vec2& centre, double radius, double from, double to, double drift = 0) {
  ChalkLine line{{}, width, 0.9, {220, 220, 210}};
  const int count = std::max(2, static_cast<int>(radius * (to - from)));
  for (int k = 0; k <= count; ++k) {
    const double t = static_cast<double>(k) / count, angle = from + t * (to - from);
    line.points.push_back(centre + (radius + t * drift) * Vec2(std::cos(angle), std::sin(angle)));
  }
  return line;
}

constexpr double whole = 2 * M_PI;
double outer_area(double radius) { return M_PI * std::pow(radius + width / 2, 2); }

void expect_one(const Rings& rings, const Vec2& centre, double area) {
  ASSERT_EQ(rings.flaws.size(), 1u);
  EXPECT_TRUE(rings.open.empty());
  EXPECT_LT((geometry::centroid(rings.flaws[0].ring) - centre).norm(), place);
  EXPECT_NEAR(geometry::signed_area(rings.flaws[0].ring), area, area_share * area);
}

TEST(Rings, AWholeRingIsAFlawByItsOuterEdge) {
  for (const double radius : {20.0, 40.0, 75.0}) {
    const Rings rings = rings_of({arc({300, 200}, radius, 0.4, 0.4 + whole)});
    expect_one(rings, {300, 200}, outer_area(radius));
    EXPECT_NEAR(rings.flaws[0].width, width, 1e-9);
    EXPECT_EQ(rings.flaws[0].gap, 0);
  }
}

TEST(Rings, OneInPiecesWithSmallBreaksIsOneFlaw) {
  const Vec2 at(0, 0);
  const double radius = 40, gap = 7.0 / radius;
  const Rings rings =
      rings_of({arc(at, radius, 0, 2), arc(at, radius, 2 + gap, 4), arc(at, radius, 4 + gap, whole - gap)});
  expect_one(rings, at, outer_area(radius));
  EXPECT_GT(rings.flaws[0].gap, 2);
  EXPECT_LT(rings.flaws[0].gap, 7);
}

TEST(Rings, DrawnPastItsBeginningInsideOrOutside) {
  const double radius = 30, past = 20 / radius;
  for (const double drift : {-3.0, 0.0, 3.0}) {
    const Rings rings = rings_of({arc({0, 0}, radius, 0, whole + past, drift)});
    ASSERT_EQ(rings.flaws.size(), 1u) << drift;
    EXPECT_TRUE(rings.open.empty()) << drift;
    EXPECT_NEAR(geometry::signed_area(rings.flaws[0].ring), outer_area(radius + drift / 2), 0.03 * outer_area(radius))
        << drift;
  }
}

TEST(Rings, LooseEndsThatCrossStickOutOfNoFlaw) {
  ChalkLine ring = arc({0, 0}, 30, 0, whole);
  ring.points.emplace_back(55, -8);  // run straight on
  ring.points.insert(ring.points.begin(), Vec2(52, 12));
  const Rings rings = rings_of({ring});
  ASSERT_EQ(rings.flaws.size(), 1u);
  constexpr double fillet = 2.5;  // mm, that the disc leaves in the corner between a loose end and the ring
  EXPECT_LT(geometry::bounding_box(rings.flaws[0].ring).max.x(), 30 + width / 2 + fillet);
}

TEST(Rings, ARingOpenByMoreThanTheBoundIsToldWithItsPlaceAndIsNoFlaw) {
  const double radius = 45;
  for (const double open : {14.0, 25.0, 60.0}) {
    const double half = open / radius / 2;
    const Rings rings = rings_of({arc({100, 50}, radius, half, whole - half)});
    EXPECT_TRUE(rings.flaws.empty()) << open;
    ASSERT_EQ(rings.open.size(), 1u) << open;
    EXPECT_LT((rings.open[0].at - Vec2(100 + radius, 50)).norm(), 12) << open;
    EXPECT_NEAR(rings.open[0].gap, open, 4 + 0.12 * open) << "along the straight break";
  }
}

TEST(Rings, TheBoundItselfIsStated) {
  const double radius = 45;
  const auto with_gap = [&](double gap) { return rings_of({arc({0, 0}, radius, 0, whole - gap / radius)}); };
  EXPECT_EQ(with_gap(ring_gap - 1.5).flaws.size(), 1u);
  EXPECT_EQ(with_gap(ring_gap + 1.5).flaws.size(), 0u);
  EXPECT_EQ(with_gap(ring_gap + 1.5).open.size(), 1u);
}

TEST(Rings, LinesThatEncloseNothingAreNone) {
  const ChalkLine straight{{{0, 0}, {50, 2}, {120, 0}}, width, 0.9, {}};
  const ChalkLine beside{{{0, 8}, {50, 10}, {120, 8}}, width, 0.9, {}};
  const ChalkLine across{{{60, -30}, {62, 40}}, width, 0.9, {}};
  const ChalkLine hook = arc({300, 0}, 30, 0, 2);
  const Rings rings = rings_of({straight, beside, across, hook});
  EXPECT_TRUE(rings.flaws.empty());
  EXPECT_TRUE(rings.open.empty());
  EXPECT_TRUE(rings_of({}).flaws.empty());
}

TEST(Rings, RingsThatTouchAreOneFlawAndOneWithinAnotherCountsOnce) {
  const Rings touching = rings_of({arc({0, 0}, 30, 0, whole), arc({50, 0}, 30, 0, whole)});
  ASSERT_EQ(touching.flaws.size(), 1u);
  EXPECT_GT(geometry::signed_area(touching.flaws[0].ring), 1.5 * outer_area(30));
  const Rings nested = rings_of({arc({0, 0}, 60, 0, whole), arc({5, 0}, 20, 0, whole)});
  ASSERT_EQ(nested.flaws.size(), 1u);
  EXPECT_NEAR(geometry::signed_area(nested.flaws[0].ring), outer_area(60), area_share * outer_area(60));
}

TEST(Rings, SeveralStandLeftToRight) {
  const Rings rings = rings_of({arc({300, 0}, 30, 0, whole), arc({0, 50}, 20, 0, whole), arc({150, 0}, 60, 0, whole)});
  ASSERT_EQ(rings.flaws.size(), 3u);
  EXPECT_LT(geometry::centroid(rings.flaws[0].ring).x(), geometry::centroid(rings.flaws[1].ring).x());
  EXPECT_LT(geometry::centroid(rings.flaws[1].ring).x(), geometry::centroid(rings.flaws[2].ring).x());
}

TEST(Rings, ARingAsTwoPhotosShowItIsOne) {
  const double radius = 50;
  std::vector<ChalkLine> lines{arc({0, 0}, radius, 0, 4.2)};
  add_lines(lines, {arc({0.3, 0.2}, radius, 3.4, whole + 0.3)});
  const Rings rings = rings_of(lines);
  expect_one(rings, {0, 0}, outer_area(radius));
  const std::size_t before = lines.size();
  add_lines(lines, {arc({0.2, -0.2}, radius, 0, whole)});
  EXPECT_EQ(lines.size(), before) << "nothing new";
}

TEST(Rings, APanelIsToldWhereARingIsOpen) {
  panel::Panel panel;
  panel.outline.points = {{-200, -150}, {200, -150}, {200, 150}, {-200, 150}};
  set_flaws(panel, {arc({100, 0}, 30, 0, whole), arc({-100, 0}, 40, 0.3, whole - 0.3)}, "a.jpg");
  ASSERT_EQ(panel.flaws.size(), 1u);
  EXPECT_GT(panel.flaws[0].U, 0);
  ASSERT_EQ(panel.faults.size(), 1u);
  EXPECT_EQ(panel.faults[0].code, "ring-open");
  EXPECT_EQ(panel.faults[0].severity, Severity::warning);
  EXPECT_EQ(panel.faults[0].photo, "a.jpg");
  EXPECT_THAT(panel.faults[0].seen, testing::HasSubstr("near (1"));
  EXPECT_THAT(panel.faults[0].remedy, testing::HasSubstr("Close the ring with chalk"));
}

}  // namespace
}  // namespace chalkfold::trace
