// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/cuts/notch_course.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::trace {
namespace {

constexpr double side = 200;

/// A square whose first point lies on its lower edge, `start` mm from the lower left corner; a point each mm.
panel::Panel square(double start) {
  const Polyline corners = {{0, 0}, {side, 0}, {side, side}, {0, side}};
  panel::Panel panel;
  for (int k = 0; k < 4 * static_cast<int>(side); ++k) {
    const double along = std::fmod(start + k, 4 * side);
    const auto edge = static_cast<std::size_t>(along / side);
    const Vec2 from = corners[edge], to = corners[(edge + 1) % 4];
    panel.outline.points.push_back(from + (std::fmod(along, side) / side) * (to - from));
    panel.outline.sigma.push_back(0.05);
    panel.outline.U.push_back(0.2);
  }
  return panel;
}

/// A V of 6 mm in the lower edge, `at` mm from its lower left corner.
NotchCut vee(double at) {
  NotchCut cut;
  cut.from = at - 3;
  cut.to = at + 3;
  cut.course = {{at - 3, 0}, {at, 6}, {at + 3, 0}};
  cut.notch.foot = {at, 0};
  cut.notch.tip = {at, 6};
  cut.notch.sigma = 0.1;
  return cut;
}

/// Wherever the outline's first point lies on the edge, before, behind or in the notch, nothing but the notch is taken from it.
TEST(CutNotches, TheOutlineStaysWholeWhereverItBegins) {
  for (const double start : {20.0, 60.0, 99.0, 100.0, 101.0, 140.0, 190.0}) {
    panel::Panel panel = square(start);
    const std::vector<EdgeBase> bases = edge_bases(geometry::ClosedOutline(panel.outline.points));
    std::vector<std::vector<NotchCut>> cuts(bases.size());
    for (std::size_t b = 0; b < bases.size(); ++b) {
      const Vec2 middle = bases[b].points[bases[b].points.size() / 2];
      if (middle.y() > 1) continue;
      const double left = bases[b].points.front().x();  // the base begins a little off the corner
      for (const double at : {100.0, 150.0}) {
        cuts[b].push_back(vee(at));
        cuts[b].back().from -= left;
        cuts[b].back().to -= left;
      }
    }
    cut_notches(panel, bases, cuts);
    constexpr double notch_area = 18, rounding = 20;  // mm2: corners of the base are rounded
    EXPECT_NEAR(geometry::signed_area(panel.outline.points), side * side - 2 * notch_area, rounding) << start;
    ASSERT_EQ(panel.marks.notches.size(), 2U) << start;
    double longest = 0;
    const Polyline& points = panel.outline.points;
    for (std::size_t i = 0; i < points.size(); ++i)
      longest = std::max(longest, (points[(i + 1) % points.size()] - points[i]).norm());
    EXPECT_LT(longest, 3) << start;
  }
}

/// A notch that may be none: the other story is the edge straight on, and U reaches as far as that.
TEST(CutNotches, UOfADoubtfulNotchReachesToTheEdgeWithoutIt) {
  for (const double confidence : {0.7, 0.99}) {
    panel::Panel panel = square(20);
    const std::vector<EdgeBase> bases = edge_bases(geometry::ClosedOutline(panel.outline.points));
    std::vector<std::vector<NotchCut>> cuts(bases.size());
    for (std::size_t b = 0; b < bases.size(); ++b) {
      if (bases[b].points[bases[b].points.size() / 2].y() > 1) continue;
      const double left = bases[b].points.front().x();
      cuts[b].push_back(vee(100));
      cuts[b].back().from -= left;
      cuts[b].back().to -= left;
      cuts[b].back().notch.confidence = confidence;
    }
    cut_notches(panel, bases, cuts);
    ASSERT_EQ(panel.marks.notches.size(), 1U);
    const panel::Notch& notch = panel.marks.notches.front();
    for (std::size_t i = notch.first; i <= notch.last; ++i) {
      const double depth = panel.outline.points[i].y();
      EXPECT_DOUBLE_EQ(panel.outline.U[i], confidence < 0.95 ? std::max(0.2, depth) : 0.2) << depth;
    }
  }
}

/// What gives way to a notch is as sure as the edge on either side, not as the panel's edge is in the middle.
TEST(CutNotches, WhatIsReplacedKeepsTheDoubtOfItsPlace) {
  panel::Panel panel = square(20);
  constexpr double doubtful = 1.5;
  for (std::size_t i = 0; i < panel.outline.points.size(); ++i)
    if (panel.outline.points[i].y() < 1) panel.outline.U[i] = doubtful;
  const std::vector<EdgeBase> bases = edge_bases(geometry::ClosedOutline(panel.outline.points));
  std::vector<std::vector<NotchCut>> cuts(bases.size());
  for (std::size_t b = 0; b < bases.size(); ++b) {
    if (bases[b].points[bases[b].points.size() / 2].y() > 1) continue;
    cuts[b].push_back(vee(100));
    cuts[b].back().from -= bases[b].points.front().x();
    cuts[b].back().to -= bases[b].points.front().x();
    cuts[b].back().notch.confidence = 1;
  }
  cut_notches(panel, bases, cuts);
  for (std::size_t i = 0; i < panel.outline.points.size(); ++i) {
    const Vec2& p = panel.outline.points[i];
    if (p.y() < 1 && std::abs(p.x() - 100) < 20) {
      EXPECT_DOUBLE_EQ(panel.outline.U[i], doubtful) << p.x();
    }
  }
}

TEST(CutNotches, ABaseOfFewerThanTwoPointsIsAnError) {
  for (const std::size_t points : {0u, 1u}) {
    panel::Panel panel = square(20);
    EdgeBase base;
    base.points.assign(points, Vec2(0, 0));
    base.inward.assign(points, Vec2(0, 1));
    base.along.assign(points, 0);
    EXPECT_THROW(cut_notches(panel, {base}, {{vee(100)}}), std::logic_error) << points;
  }
  panel::Panel panel = square(20);
  EXPECT_THROW(cut_notches(panel, edge_bases(geometry::ClosedOutline(panel.outline.points)), {}), std::logic_error);
}

}  // namespace
}  // namespace chalkfold::trace
