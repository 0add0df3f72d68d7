// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/join_marks.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/geometry/closed_outline.h"

namespace chalkfold::trace {
namespace {

constexpr double width = 400, height = 300;  // mm
constexpr double rounding_mm = 1e-9;
constexpr double step_mm = 1.01;  // the outline's points lie a millimetre apart

bool everywhere(const Vec2&) { return true; }
bool right_half(const Vec2& p) { return p.x() > width / 2; }

panel::Panel plain() {
  panel::Panel panel;
  panel.outline.points = geometry::resample_closed({{0, 0}, {width, 0}, {width, height}, {0, height}}, 1400);
  panel.outline.sigma.assign(1400, 0.03);
  panel.outline.U.assign(1400, 0.2);
  return panel;
}

panel::MatchMark match_at(double x, int group, double sigma = 0.2) {
  panel::MatchMark m;
  m.foot = {x, 0};
  m.tip = {x, 15};
  m.group = group;
  m.sigma = sigma;
  m.confidence = 0.8;
  return m;
}

/// A vee 6 mm deep in the lower edge, its points in the outline.
void cut_notch(panel::Panel& panel, double x, double sigma = 0.1) {
  panel::Contour& c = panel.outline;
  const auto at = [&](double px) {
    return static_cast<std::size_t>(std::min_element(c.points.begin(), c.points.end(),
                                                     [&](const Vec2& a, const Vec2& b) {
                                                       return (a - Vec2(px, 0)).norm() < (b - Vec2(px, 0)).norm();
                                                     }) -
                                    c.points.begin());
  };
  panel::Notch n;
  n.first = at(x - 4);
  n.last = at(x + 4);
  n.foot = {x, 0};
  n.tip = {x, 6};
  n.sigma = sigma;
  for (std::size_t i = n.first + 1; i < n.last; ++i) c.points[i].y() = 6 * (1 - std::abs(c.points[i].x() - x) / 4);
  panel.marks.notches.push_back(n);
}

void expect_notches_in_place(const panel::Panel& joined, std::size_t count) {
  ASSERT_EQ(joined.marks.notches.size(), count);
  const panel::Contour across = panel::outline_across_notches(joined);
  const geometry::ClosedOutline ruler(across.points);
  for (const Vec2& p : across.points) EXPECT_LT(geometry::distance_to(plain().outline.points, p, true), rounding_mm);
  EXPECT_NEAR(geometry::signed_area(across.points), width * height, rounding_mm * width * height);
  EXPECT_EQ(joined.outline.points.size(), joined.outline.sigma.size());
  EXPECT_EQ(joined.outline.points.size(), joined.outline.U.size());
  for (const panel::Notch& n : joined.marks.notches) {
    ASSERT_LT(n.first, n.last);
    ASSERT_LT(n.last, joined.outline.points.size());
    EXPECT_LT((joined.outline.points[n.first] - Vec2(n.foot.x() - 4, 0)).norm(), step_mm);
    EXPECT_LT((joined.outline.points[n.last] - Vec2(n.foot.x() + 4, 0)).norm(), step_mm);
    EXPECT_NEAR(n.along, ruler.nearest(n.foot).along, rounding_mm);
    EXPECT_LT(geometry::distance_to(joined.outline.points, n.tip, true), step_mm) << "its course is in the outline";
  }
  for (std::size_t i = 0; i < joined.outline.points.size(); ++i) {
    const double gap =
        (joined.outline.points[(i + 1) % joined.outline.points.size()] - joined.outline.points[i]).norm();
    EXPECT_LT(gap, 3) << "point " << i;
  }
}

TEST(Moved, CarriesEveryKindOfMark) {
  panel::Panel panel = plain();
  cut_notch(panel, 100);
  panel.cutouts = {{{{10, 10}, {10, 20}, {20, 10}}, {0.1, 0.1, 0.1}, {0.1, 0.1, 0.1}}};
  panel::Marks& marks = panel.marks;
  marks.matches = {match_at(200, 0)};
  marks.matches[0].number = panel::MarkCrop{{205, 2}, {215, 12}};
  marks.centre = panel::CentreLine{{200, 10}, {201, 290}, 0, 0, 0, 0, {}};
  marks.grain = panel::GrainLine{{50, 50}, {150, 60}, true, 0, 0, 0, {}};
  marks.writings = {{{Vec2(30, 30), {60, 30}, {60, 70}, {30, 70}}, true, std::numbers::pi / 2, 0.9, {}}};
  marks.holes = {{{70, 80}, 3, 0.1, 0.9}};
  marks.needle_rows = {{{{10, 10}, {20, 10}, {30, 10}}, 3, 1, 10, 0, 0.1, 0.9}};
  const geometry::Rigid2 motion{2.5, {300, -70}};
  const panel::Panel there = moved(motion, panel);
  const auto same = [&](const Vec2& a, const Vec2& b) { return (a - motion * b).norm() < rounding_mm; };
  for (std::size_t i = 0; i < panel.outline.points.size(); ++i)
    ASSERT_TRUE(same(there.outline.points[i], panel.outline.points[i]));
  EXPECT_TRUE(same(there.cutouts[0].points[2], {20, 10}));
  EXPECT_TRUE(same(there.marks.matches[0].foot, {200, 0}) && same(there.marks.matches[0].tip, {200, 15}));
  for (const Vec2& corner : {Vec2(205, 2), Vec2(215, 2), Vec2(215, 12), Vec2(205, 12)}) {
    const Vec2 p = motion * corner;
    EXPECT_TRUE((p.array() >= there.marks.matches[0].number->low.array() - rounding_mm).all());
    EXPECT_TRUE((p.array() <= there.marks.matches[0].number->high.array() + rounding_mm).all());
  }
  EXPECT_LE(there.marks.centre->from.y(), there.marks.centre->to.y()) << "the lower end first";
  EXPECT_TRUE(same(there.marks.centre->from, {201, 290}) && same(there.marks.centre->to, {200, 10}));
  EXPECT_TRUE(same(there.marks.grain->tail, {50, 50}) && same(there.marks.grain->head, {150, 60}));
  for (std::size_t k = 0; k < 4; ++k) EXPECT_TRUE(same(there.marks.writings[0].box[k], marks.writings[0].box[k]));
  EXPECT_NEAR(std::remainder(there.marks.writings[0].up - 2.5 - std::numbers::pi / 2, 2 * std::numbers::pi), 0, 1e-12);
  EXPECT_TRUE(same(there.marks.notches[0].foot, {100, 0}) && same(there.marks.notches[0].tip, {100, 6}));
  EXPECT_TRUE(same(there.marks.holes[0].centre, {70, 80}));
  EXPECT_TRUE(same(there.marks.needle_rows[0].points[1], {20, 10}));
}

TEST(AddMarks, SeenTwiceIsAveragedBySigma) {
  panel::Panel joined = plain(), seen = plain();
  joined.marks.matches = {match_at(100, 0, 0.1)};
  seen.marks.matches = {match_at(101, 0, 0.2)};
  joined.marks.holes = {{{50, 50}, 3, 0.1, 0.5}};
  seen.marks.holes = {{{50, 51}, 4, 0.1, 0.5}};
  add_marks(joined, seen, everywhere);
  ASSERT_EQ(joined.marks.matches.size(), 1u);
  EXPECT_NEAR(joined.marks.matches[0].foot.x(), 100.2, rounding_mm) << "weights 4 to 1";
  EXPECT_NEAR(joined.marks.matches[0].along, 100.2, rounding_mm);
  EXPECT_NEAR(joined.marks.matches[0].sigma, 0.1 * 2 / std::sqrt(5), rounding_mm);
  ASSERT_EQ(joined.marks.holes.size(), 1u);
  EXPECT_NEAR(joined.marks.holes[0].centre.y(), 50.5, rounding_mm);
  EXPECT_NEAR(joined.marks.holes[0].confidence, 0.75, rounding_mm);
}

TEST(AddMarks, DoublesKeepTheirGroups) {
  panel::Panel joined = plain(), seen = plain();
  joined.marks.matches = {match_at(300, 0), match_at(308, 0)};
  seen.marks.matches = {match_at(100, 0), match_at(200, 1), match_at(208, 1), match_at(300.5, 2), match_at(308.5, 2)};
  add_marks(joined, seen, everywhere);
  std::vector<int> groups;
  for (const panel::MatchMark& m : joined.marks.matches) groups.push_back(m.group);
  EXPECT_EQ(groups, (std::vector<int>{0, 1, 1, 2, 2})) << "in order along the outline";
}

TEST(AddMarks, ADoubleCutByTheFrameIsMadeWhole) {
  panel::Panel joined = plain(), seen = plain();
  joined.marks.matches = {match_at(200, 0)};
  seen.marks.matches = {match_at(200.2, 0), match_at(208, 0)};
  add_marks(joined, seen, everywhere);
  ASSERT_EQ(joined.marks.matches.size(), 2u);
  EXPECT_EQ(joined.marks.matches[0].group, joined.marks.matches[1].group);
}

TEST(AddMarks, WhatIsNotBelievedIsLeftOut) {
  panel::Panel joined = plain(), seen = plain();
  cut_notch(seen, 60);
  seen.marks.matches = {match_at(100, 0), match_at(300, 1)};
  seen.marks.holes = {{{50, 50}, 3, 0.1, 0.5}, {{350, 50}, 3, 0.1, 0.5}};
  seen.marks.grain = panel::GrainLine{{150, 50}, {250, 60}, true, 0, 0, 0.9, {}};
  seen.marks.centre = panel::CentreLine{{100, 10}, {100, 290}, 0, 0.1, 0.01, 0.9, {}};
  seen.marks.writings = {{{Vec2(190, 30), {260, 30}, {260, 70}, {190, 70}}, false, 0, 0.9, {}}};
  seen.marks.needle_rows = {{{{10, 10}, {100, 10}, {190, 10}, {250, 10}}, 3, 1, 10, 0, 0.1, 0.9}};
  add_marks(joined, seen, right_half);
  ASSERT_EQ(joined.marks.matches.size(), 1u);
  EXPECT_EQ(joined.marks.matches[0].foot.x(), 300);
  ASSERT_EQ(joined.marks.holes.size(), 1u);
  EXPECT_TRUE(joined.marks.notches.empty() && joined.marks.writings.empty() && joined.marks.needle_rows.empty());
  EXPECT_FALSE(joined.marks.grain || joined.marks.centre);
  EXPECT_EQ(joined.outline.points.size(), plain().outline.points.size());
}

TEST(AddMarks, NotchesOfBothPhotosAreInTheOutline) {
  panel::Panel joined = plain(), left = plain(), right = plain();
  cut_notch(left, 60);
  cut_notch(left, 200, 0.3);
  cut_notch(right, 200.5, 0.1);
  cut_notch(right, 320);
  add_marks(joined, left, everywhere);
  expect_notches_in_place(joined, 2);
  add_marks(joined, right, everywhere);
  expect_notches_in_place(joined, 3);
  EXPECT_EQ(joined.marks.notches[1].foot.x(), 200.5) << "the more certain one stays";
}

TEST(AddMarks, ANotchOverTheFirstPointIsCutToo) {
  panel::Panel joined = plain(), seen = plain();
  for (panel::Panel* p : {&joined, &seen}) {
    auto& points = p->outline.points;
    std::rotate(points.begin(), points.begin() + 100, points.end());  // starts at (100, 0)
  }
  panel::Notch n;
  n.first = 1396;
  n.last = 4;
  n.foot = {100, 0};
  n.tip = {100, 6};
  n.sigma = 0.1;
  for (const std::size_t i : {1397u, 1398u, 1399u, 0u, 1u, 2u, 3u})
    seen.outline.points[i].y() = 6 * (1 - std::abs(seen.outline.points[i].x() - 100) / 4);
  seen.marks.notches = {n};
  add_marks(joined, seen, everywhere);
  expect_notches_in_place(joined, 1);
}

TEST(AddMarks, CentreLineRunsOverBothPhotos) {
  panel::Panel joined = plain(), seen = plain();
  joined.marks.centre = panel::CentreLine{{200, 10}, {200, 160}, 0.1, 0.1, 0.001, 0.5, {}};
  seen.marks.centre = panel::CentreLine{{200, 140}, {200, 290}, 0.2, 0.1, 0.001, 0.5, {}};
  add_marks(joined, seen, everywhere);
  EXPECT_LT((joined.marks.centre->from - Vec2(200, 10)).norm(), rounding_mm * 1e3);
  EXPECT_LT((joined.marks.centre->to - Vec2(200, 290)).norm(), rounding_mm * 1e3);
  EXPECT_NEAR(joined.marks.centre->confidence, 0.75, rounding_mm);
  EXPECT_EQ(joined.marks.centre->straightness, 0.2);
}

TEST(AddMarks, NeedleRowsArePutTogether) {
  panel::Panel joined = plain(), seen = plain();
  panel::NeedleRow a, b;
  for (double x = 20; x <= 200; x += 4) a.points.emplace_back(x, 10);
  for (double x = 161; x <= 380; x += 4) b.points.emplace_back(x, 10);
  a.found_share = b.found_share = 0.9;
  a.allowance = b.allowance = 10;
  joined.marks.needle_rows = {a};
  seen.marks.needle_rows = {b};
  add_marks(joined, seen, everywhere);
  ASSERT_EQ(joined.marks.needle_rows.size(), 1u);
  const panel::NeedleRow& row = joined.marks.needle_rows[0];
  EXPECT_EQ(row.points.front().x(), 20);
  EXPECT_EQ(row.points.back().x(), 377);
  EXPECT_TRUE(
      std::is_sorted(row.points.begin(), row.points.end(), [](const Vec2& p, const Vec2& q) { return p.x() < q.x(); }));
  EXPECT_NEAR(row.allowance, 10, rounding_mm);
}

}  // namespace
}  // namespace chalkfold::trace
