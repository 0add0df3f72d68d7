// SPDX-License-Identifier: Apache-2.0
#include "demo/design/lay_panel.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace chalkfold::demo {
namespace {

constexpr double exact_mm = 1e-9;

std::vector<Vec2> marks_of(const LaidPanel& panel, const std::string& kind) {
  std::vector<Vec2> out;
  for (const Mark& m : panel.marks) {
    if (m.kind == kind) out.insert(out.end(), m.points.begin(), m.points.end());
  }
  return out;
}

TEST(LayPanel, WithoutWearIsTheDesignMovedRigidly) {
  const geometry::Rigid2 place{0.7, {40, -30}};
  const LaidPanel p = lay_panel(panel_design(DesignKind::front), {.table_from_panel = place});
  ASSERT_EQ(p.outline.size(), p.design_outline.size());
  for (std::size_t i = 0; i < p.outline.size(); ++i)
    ASSERT_LT((p.outline[i] - place * p.design_outline[i]).norm(), exact_mm);
  EXPECT_EQ(p.outline, p.seen_outline);
}

TEST(LayPanel, StretchWidensTheRightHalfOnlyAndLeavesTheAxis) {
  LayOptions o;
  o.wear.stretch_right_percent = 2;
  const LaidPanel p = lay_panel(panel_design(DesignKind::cushion_top), o);
  const geometry::Box worn = geometry::bounding_box(p.outline_without_notches),
                      design = geometry::bounding_box(p.design_outline);
  EXPECT_NEAR(worn.max.x(), 1.02 * design.max.x(), exact_mm);
  EXPECT_NEAR(worn.min.x(), design.min.x(), exact_mm);
  ASSERT_TRUE(p.axis);
  for (const Vec2& end : *p.axis) {
    EXPECT_NEAR(end.x(), 0, exact_mm);
    EXPECT_LT(geometry::distance_to(p.outline_without_notches, end, true), exact_mm);
  }
}

TEST(LayPanel, CrookedEdgesStayWithinTheirBound) {
  LayOptions o;
  o.wear.crooked = 2;
  const LaidPanel p = lay_panel(panel_design(DesignKind::cushion_top), o);
  double worst = 0;
  for (std::size_t i = 0; i < p.design_outline.size(); ++i) {
    worst = std::max(worst, (p.outline_without_notches[i] - p.design_outline[i]).norm());
  }
  EXPECT_GT(worst, 0.3);
  EXPECT_LT(worst, 2 * std::sqrt(2.0));  // each of x and y at most `crooked`
}

TEST(LayPanel, NotchesTakeTheirAreaAndSlitsAreSeenOnly) {
  const LaidPanel p = lay_panel(panel_design(DesignKind::flag), {});
  const double cut = geometry::signed_area(p.outline_without_notches) - geometry::signed_area(p.outline);
  EXPECT_NEAR(cut, 0.5 * 8 * 8, 1e-6);  // a V 8 mm deep and 8 mm wide in a straight edge
  EXPECT_EQ(marks_of(p, "notch").size(), 2U);
  const LaidPanel slit = lay_panel(panel_design(DesignKind::back_outer), {});
  EXPECT_NEAR(geometry::signed_area(slit.outline), geometry::signed_area(slit.outline_without_notches), 1e-6);
  EXPECT_NEAR(geometry::signed_area(slit.outline) - geometry::signed_area(slit.seen_outline), 0.7 * 6,
              0.2);  // 0.7 x 6 mm, edge nearly straight
}

TEST(LayPanel, MatchMarksStartOnTheEdgeAndEndInside) {
  const LaidPanel p =
      lay_panel(panel_design(DesignKind::back_inner), {.table_from_panel = {-0.4, {10, 20}}, .wear = {1.5, 2}});
  const std::vector<Vec2> ends = marks_of(p, "match");
  ASSERT_EQ(ends.size(), 12U);
  constexpr double chord_mm = 0.01;  // a mark starts on a chord of the design's edge, which wear bends
  for (std::size_t i = 0; i < ends.size(); i += 2) {
    EXPECT_LT(geometry::distance_to(p.outline, ends[i], true), chord_mm);
    EXPECT_TRUE(geometry::contains(p.outline, ends[i + 1]));
  }
}

TEST(LayPanel, NeedleRowsRunTenMillimetresFromTheEdgeAtFourMillimetres) {
  const LaidPanel p = lay_panel(panel_design(DesignKind::back_outer), {});
  ASSERT_EQ(p.needle_rows.size(), 2U);
  constexpr double sampling_mm = 0.02;
  for (const SewnRow& laid : p.needle_rows) {
    const Polyline& row = laid.holes;
    ASSERT_GT(row.size(), 100U);
    for (std::size_t i = 0; i < row.size(); ++i) {
      EXPECT_NEAR(geometry::distance_to(p.outline_without_notches, row[i], true), 10, sampling_mm);
      if (i > 0) {
        EXPECT_NEAR((row[i] - row[i - 1]).norm(), 4, sampling_mm);
      }
    }
  }
}

TEST(LayPanel, FrayingLeavesTheTruthAndJittersAboutIt) {
  const LayOptions plain{.seed = 9};
  LayOptions frayed = plain;
  frayed.frayed = true;
  const LaidPanel a = lay_panel(panel_design(DesignKind::front), plain),
                  b = lay_panel(panel_design(DesignKind::front), frayed);
  EXPECT_EQ(a.outline, b.outline);
  double sum = 0, squares = 0;
  for (std::size_t i = 0; i < b.seen_outline.size(); ++i) {
    const double off = geometry::distance_to(b.outline, b.seen_outline[i], true) *
                       (geometry::contains(b.outline, b.seen_outline[i]) ? -1 : 1);
    EXPECT_LT(std::abs(off), 0.31);  // the two waves' largest, 0.16 + 0.14 mm
    sum += off;
    squares += off * off;
  }
  const auto n = static_cast<double>(b.seen_outline.size());
  EXPECT_LT(std::abs(sum / n), 0.02);
  EXPECT_GT(std::sqrt(squares / n), 0.05);
  ASSERT_EQ(b.threads.size(), 1U);
  double farthest = 0;
  for (const auto& s : b.threads[0].strokes) farthest = std::max(farthest, geometry::distance_to(b.outline, s.b, true));
  EXPECT_GT(farthest, 2.5);
  EXPECT_LT(farthest, 4.5);
}

TEST(LayPanel, SameSeedSamePanel) {
  const LayOptions o{.wear = {1, 2}, .frayed = true, .loose_threads = 2, .seed = 5};
  LayOptions other = o;
  other.seed = 6;
  const LaidPanel a = lay_panel(panel_design(DesignKind::front), o), b = lay_panel(panel_design(DesignKind::front), o);
  EXPECT_EQ(a.seen_outline, b.seen_outline);
  EXPECT_NE(a.seen_outline, lay_panel(panel_design(DesignKind::front), other).seen_outline);
}

}  // namespace
}  // namespace chalkfold::demo
