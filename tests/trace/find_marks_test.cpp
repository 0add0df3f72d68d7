// SPDX-License-Identifier: Apache-2.0
// Marks drawn at known places on a plain panel, and read again.
#include "pipeline/trace/find_marks.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/polygon.h"
#include "tests/trace/drawn_panel.h"

namespace chalkfold::trace {
namespace {

using test::DrawnPanel;
const cv::Scalar chalk(225, 228, 226);
constexpr double bottom = -DrawnPanel::height / 2, top = DrawnPanel::height / 2, right = DrawnPanel::width / 2;
constexpr double place_mm = 0.35;  // a third of a photo pixel, and what the outline's millimetre spacing leaves

const panel::MatchMark* near(const panel::Panel& panel, const Vec2& foot, double within = 3) {
  const auto m = std::min_element(panel.marks.matches.begin(), panel.marks.matches.end(),
                                  [&](const panel::MatchMark& a, const panel::MatchMark& b) {
                                    return (a.foot - foot).norm() < (b.foot - foot).norm();
                                  });
  return m != panel.marks.matches.end() && (m->foot - foot).norm() < within ? &*m : nullptr;
}

std::size_t count_of(const panel::Marks& m) {
  return m.matches.size() + m.writings.size() + m.notches.size() + m.holes.size() + m.needle_rows.size() +
         m.centre.has_value() + m.grain.has_value();
}

}  // namespace

TEST(FindMarks, FindsNothingOnABlankPanel) {
  for (std::uint64_t seed = 1; seed <= 8; ++seed) {
    const panel::Panel panel = DrawnPanel().read(2.5, seed);
    EXPECT_EQ(count_of(panel.marks), 0u) << "seed " << seed;
    EXPECT_TRUE(panel.faults.empty());
  }
}

// Beside a strong edge a coder makes up lines of colour that are neither lighter nor darker than the material.
TEST(FindMarks, ColourOfTheMaterialsOwnLightIsNoChalkUnlessItIsStrong) {
  const auto found = [](const cv::Scalar& step) {
    const cv::Scalar material(60, 54, 52);
    DrawnPanel drawn(material);
    for (const double x : {-80.0, -30.0, 40.0, 90.0}) drawn.stroke({{x, bottom}, {x, bottom + 20}}, 3, material + step);
    return drawn.read(0.8).marks.matches.size();
  };
  EXPECT_EQ(found({9, 1, -5}), 0u);
  EXPECT_EQ(found({36, 4, -22}), 4u);
  EXPECT_EQ(found({5, 5, 5}), 4u);
}

TEST(FindMarks, WhatACoarseCoderMayMakeUpIsNoChalk) {
  const auto found = [](double step, const capture::CodingSteps& coding) {
    const cv::Scalar material(60, 54, 52);
    DrawnPanel drawn(material);
    for (const double x : {-80.0, -30.0, 40.0, 90.0})
      drawn.stroke({{x, bottom}, {x, bottom + 20}}, 3, material + cv::Scalar::all(step));
    return drawn.read(0.8, 1, coding).marks.matches.size();
  };
  const capture::CodingSteps fine{2, 3}, coarse{12, 21};  // a phone's own file, and one that a messenger saved again
  EXPECT_EQ(found(5, fine), 4u);
  EXPECT_EQ(found(5, coarse), 0u);
  EXPECT_EQ(found(25, coarse), 4u);
}

TEST(FindMarks, MatchMarksWithTheirPlaceGroupAndCorner) {
  DrawnPanel drawn;
  drawn.stroke({{-60, bottom}, {-60, bottom + 20}}, 2, chalk);
  drawn.stroke({{20, bottom}, {23, bottom + 22}}, 2.5, chalk);
  drawn.stroke({{28, bottom}, {31, bottom + 22}}, 2.5, chalk);
  drawn.stroke({{right, 30}, {right - 18, 33}}, 1.6, chalk);
  drawn.stroke({{right - 8, top}, {right - 9, top - 16}}, 2, chalk);
  const panel::Panel panel = drawn.read();
  ASSERT_EQ(panel.marks.matches.size(), 5u);
  for (const Vec2& foot :
       {Vec2(-60, bottom), Vec2(20, bottom), Vec2(28, bottom), Vec2(right, 30), Vec2(right - 8, top)}) {
    const panel::MatchMark* m = near(panel, foot);
    ASSERT_TRUE(m) << foot.transpose();
    EXPECT_LT((m->foot - foot).norm(), place_mm) << foot.transpose();
    EXPECT_GT(m->confidence, 0.5);
    EXPECT_GT(m->colour[0], 150);
  }
  EXPECT_EQ(near(panel, {20, bottom})->group, near(panel, {28, bottom})->group);
  EXPECT_NE(near(panel, {-60, bottom})->group, near(panel, {20, bottom})->group);
  EXPECT_TRUE(near(panel, {right - 8, top})->at_corner);
  EXPECT_FALSE(near(panel, {-60, bottom})->at_corner);
  EXPECT_TRUE(std::is_sorted(panel.marks.matches.begin(), panel.marks.matches.end(),
                             [](const auto& a, const auto& b) { return a.along < b.along; }));
  const geometry::ClosedOutline ruler(panel.outline.points);
  for (const panel::MatchMark& m : panel.marks.matches) EXPECT_LT((ruler.at(m.along).point - m.foot).norm(), 1e-6);
}

TEST(FindMarks, ANumberBesideAMarkIsKeptAsACropAndNoMark) {
  DrawnPanel drawn;
  drawn.stroke({{0, bottom}, {0, bottom + 20}}, 2, chalk);
  drawn.stroke({{-70, bottom}, {-70, bottom + 20}}, 2, chalk);
  drawn.stroke({{8, bottom + 24}, {19, bottom + 24}, {10, bottom + 8}}, 2, chalk);  // a 7
  const panel::Panel panel = drawn.read();
  ASSERT_EQ(panel.marks.matches.size(), 2u);
  const panel::MatchMark* m = near(panel, {0, bottom});
  ASSERT_TRUE(m && m->number);
  EXPECT_FALSE(near(panel, {-70, bottom})->number);
  EXPECT_LT(m->number->low.x(), 10);
  EXPECT_GT(m->number->high.x(), 17);
}

TEST(FindMarks, CentreLineAndItsAgreementWithTheOutline) {
  for (const double off : {0.0, 12.0}) {
    DrawnPanel drawn;
    drawn.stroke({{off, bottom + 10}, {off + 0.5, 0}, {off, top - 10}}, 2, chalk);
    const panel::Panel panel = drawn.read();
    ASSERT_TRUE(panel.marks.centre) << off;
    const Vec2 d = panel.marks.centre->to - panel.marks.centre->from;
    EXPECT_NEAR(std::atan2(d.x(), d.y()), 0, 0.004) << "rad";
    EXPECT_NEAR(0.5 * (panel.marks.centre->from + panel.marks.centre->to).x(), off + 0.25, place_mm);
    const bool said = std::any_of(panel.faults.begin(), panel.faults.end(),
                                  [](const Fault& f) { return f.code == "centre-line-off"; });
    EXPECT_EQ(said, off > 0) << "12 mm off is more than wear";
  }
}

TEST(FindMarks, NotchesWithTheirShapeAndSize) {
  for (const double depth : {3.0, 5.0, 8.0}) {
    DrawnPanel drawn;
    drawn.polygon({{-60 - depth / 2, bottom}, {-60, bottom + depth}, {-60 + depth / 2, bottom}}, drawn.table());
    drawn.polygon({{20 - 2.5, bottom - 1},
                   {20 - 2.5, bottom + depth - 2.5},
                   {20 + 2.5, bottom + depth - 2.5},
                   {20 + 2.5, bottom - 1}},
                  drawn.table());
    drawn.disc({20, bottom + depth - 2.5}, 5, drawn.table());
    drawn.stroke({{90, bottom - 0.5}, {90, bottom + depth}}, 0.7, drawn.table());
    const panel::Panel panel = drawn.read();
    ASSERT_EQ(panel.marks.notches.size(), 3u) << depth;
    const panel::NotchShape shapes[] = {panel::NotchShape::vee, panel::NotchShape::round, panel::NotchShape::slit};
    const double at[] = {-60, 20, 90};
    for (int i = 0; i < 3; ++i) {
      const panel::Notch& n = panel.marks.notches[static_cast<std::size_t>(i)];
      EXPECT_EQ(n.shape, shapes[i]) << depth << " notch " << i;
      EXPECT_NEAR(n.foot.x(), at[i], 0.4);
      constexpr double depth_mm = 0.9;  // blur hides the point of a V, and a slit's end
      EXPECT_NEAR(n.depth, depth, depth_mm) << "notch " << i;
    }
    constexpr double width_mm = 0.8;
    EXPECT_NEAR(panel.marks.notches[1].width, 5, width_mm);
    // The outline follows the cut; across the notches it is the straight edge again.
    EXPECT_TRUE(!geometry::contains(panel.outline.points, Vec2(20, bottom + depth / 2)));
    const panel::Contour across = panel::outline_across_notches(panel);
    EXPECT_TRUE(geometry::contains(across.points, Vec2(20, bottom + 0.5)));
    for (const Vec2& p : across.points) {
      if (std::abs(p.x()) < right - 1 && p.y() < 0) {
        EXPECT_NEAR(p.y(), bottom, 0.1);
      }
    }
    EXPECT_EQ(panel.outline.points.size(), panel.outline.sigma.size());
    EXPECT_EQ(panel.outline.points.size(), panel.outline.U.size());
    EXPECT_TRUE(panel.marks.matches.empty()) << "a notch is no chalk";
  }
}

TEST(FindMarks, AVThatTheOutlineWasFittedIntoIsANotchAndABayIsNot) {
  const Polyline vee = {{-64, bottom}, {-60, bottom + 8}, {-56, bottom}},
                 bay = {{20, bottom},
                        {26, bottom + 11},
                        {34, bottom + 11},
                        {40, bottom}};  // deeper and wider than a notch
  DrawnPanel drawn;
  panel::Panel panel = drawn.panel();
  for (const Polyline& cut : {vee, bay}) {
    drawn.polygon(cut, drawn.table());
    Polyline course;
    std::erase_if(panel.outline.points, [&](const Vec2& p) {
      return p.y() < bottom + 0.5 && p.x() >= cut.front().x() && p.x() <= cut.back().x();
    });
    for (std::size_t i = 0; i + 1 < cut.size(); ++i) {
      const Vec2 d = cut[i + 1] - cut[i];
      for (double s = 0; s < d.norm(); s += 1) course.push_back(cut[i] + s * d.normalized());
    }
    course.push_back(cut.back());
    const auto after = std::find_if(panel.outline.points.begin(), panel.outline.points.end(),
                                    [&](const Vec2& p) { return p.x() > cut.back().x(); });
    panel.outline.points.insert(after, course.begin(), course.end());
  }
  panel.outline.sigma.assign(panel.outline.points.size(), 0.05);
  panel.outline.U.assign(panel.outline.points.size(), 0.15);
  TraceOptions options;
  options.thickness = options.paper_thickness;  // drawn in the plane z = 0
  find_marks(panel, test::photo_of(drawn.photo()), drawn.view(), options);
  ASSERT_EQ(panel.marks.notches.size(), 1u);
  const panel::Notch& n = panel.marks.notches[0];
  EXPECT_EQ(n.shape, panel::NotchShape::vee);
  constexpr double depth_mm = 0.9, width_mm = 0.8;  // as above
  EXPECT_LT((n.foot - Vec2(-60, bottom)).norm(), 0.4);
  EXPECT_NEAR(n.depth, 8, depth_mm);
  EXPECT_NEAR(n.width, 8, width_mm);
  EXPECT_TRUE(!geometry::contains(panel.outline.points, Vec2(30, bottom + 8))) << "the bay stays as it was measured";
  EXPECT_TRUE(geometry::contains(panel::outline_across_notches(panel).points, Vec2(-60, bottom + 1)));
}

TEST(FindMarks, DrillHoles) {
  DrawnPanel drawn;
  const std::vector<std::pair<Vec2, double>> holes = {{{-80, 20}, 2.2}, {{10, -30}, 4}, {{70, 50}, 5.8}};
  for (const auto& [at, diameter] : holes) drawn.disc(at, diameter, drawn.table());
  const panel::Panel panel = drawn.read();
  ASSERT_EQ(panel.marks.holes.size(), holes.size());
  for (std::size_t i = 0; i < holes.size(); ++i) {  // both from left to right
    EXPECT_LT((panel.marks.holes[i].centre - holes[i].first).norm(), place_mm);
    constexpr double diameter_mm = 0.8;
    EXPECT_NEAR(panel.marks.holes[i].diameter, holes[i].second, diameter_mm);
  }
  EXPECT_TRUE(panel.marks.writings.empty());
}

TEST(FindMarks, SmallHolesInALineAreASeamsAndAPairIsNot) {
  DrawnPanel drawn;
  for (double x = -60; x <= 60; x += 6)
    drawn.disc({x, 0}, 2.0, drawn.table());  // in the panel's middle, where no row is looked for
  drawn.disc({-40, 40}, 2.0, drawn.table());
  drawn.disc({-30, 40}, 2.0, drawn.table());
  const panel::Panel panel = drawn.read();
  ASSERT_EQ(panel.marks.holes.size(), 2u);
  for (const panel::DrillHole& h : panel.marks.holes) EXPECT_NEAR(h.centre.y(), 40, place_mm);
}

TEST(FindMarks, NeedleRowsSingleAndDoubleOverABreak) {
  DrawnPanel drawn({120, 125, 130});
  for (double x = -120; x <= 120; x += 4) {
    if (x > 10 && x < 30) continue;  // worn
    drawn.disc({x, bottom + 10}, 1.2, {30, 30, 30});
  }
  for (double y = -80; y <= 80; y += 5) {
    drawn.disc({right - 9, y}, 1.2, {30, 30, 30});
    drawn.disc({right - 15, y}, 1.2, {30, 30, 30});
  }
  const panel::Panel panel = drawn.read();
  ASSERT_EQ(panel.marks.needle_rows.size(), 3u);
  for (const double depth : {10.0, 9.0, 15.0}) {
    const auto row = std::find_if(panel.marks.needle_rows.begin(), panel.marks.needle_rows.end(),
                                  [&](const panel::NeedleRow& r) { return std::abs(r.allowance - depth) < 0.3; });
    ASSERT_NE(row, panel.marks.needle_rows.end()) << depth;
    EXPECT_NEAR(row->pitch, depth == 10 ? 4 : 5, 0.1);
    for (const Vec2& p : row->points) EXPECT_NEAR(depth == 10 ? p.y() - bottom : right - p.x(), depth, 0.3);
  }
  EXPECT_TRUE(panel.marks.matches.empty());
  EXPECT_TRUE(panel.marks.holes.empty());
}

TEST(FindMarks, ANeedleRowOnAMaterialWithoutDotsOfItsOwnIsARowAndNoDrillHoles) {
  DrawnPanel drawn({69, 92, 61});
  std::size_t drawn_holes = 0;
  for (double x = -110; x <= 110; x += 6.2, ++drawn_holes) drawn.disc({x, bottom + 9.4}, 1.8, {25, 30, 24});
  constexpr double little_noise = 0.1;  // grey steps: nothing to compare the holes with
  const panel::Panel panel = drawn.read(little_noise);
  ASSERT_EQ(panel.marks.needle_rows.size(), 1u);
  const panel::NeedleRow& row = panel.marks.needle_rows[0];
  EXPECT_NEAR(row.pitch, 6.2, 0.1);
  EXPECT_GE(row.points.size(), drawn_holes - 2);
  for (const Vec2& p : row.points) EXPECT_NEAR(p.y() - bottom, 9.4, 0.3);
  EXPECT_TRUE(panel.marks.holes.empty());
}

TEST(FindMarks, AFaintLineThroughANeedleHoleIsNoMarkAndChalkOverOneIs) {
  DrawnPanel drawn({200, 205, 208});
  const cv::Scalar faint(180, 185, 188), pen(70, 60, 60), dark(25, 25, 25);
  for (const double x : {-60.0, 0.0, 20.0, 40.0}) drawn.stroke({{x, bottom + 2}, {x, bottom + 15}}, 1.2, faint);
  drawn.stroke({{80, bottom}, {80, bottom + 20}}, 2, pen);
  drawn.stroke({{-110, bottom}, {-110, bottom + 20}}, 2, pen);
  for (int i = -25; i <= 25; ++i) drawn.disc({4.0 * i, bottom + 10}, 1.4, dark);
  const panel::Panel panel = drawn.read();
  ASSERT_EQ(panel.marks.needle_rows.size(), 1u);
  EXPECT_TRUE(near(panel, {80, bottom}));
  EXPECT_TRUE(near(panel, {-110, bottom}));
  EXPECT_EQ(panel.marks.matches.size(), 2u);
}

TEST(FindMarks, ALooseThreadInABowIsNoWriting) {
  DrawnPanel drawn;
  drawn.stroke({{-60, bottom}, {-60, bottom + 20}}, 2, chalk);
  Polyline bow;
  for (int i = 0; i <= 20; ++i) {
    const double a = 0.09 * (i - 10);
    bow.emplace_back(25 * std::sin(a), -25 * std::cos(a));
  }
  drawn.stroke(bow, 1.2, chalk);
  const panel::Panel panel = drawn.read();
  EXPECT_EQ(panel.marks.matches.size(), 1u);
  EXPECT_TRUE(panel.marks.writings.empty());
}

TEST(FindMarks, AHoleBeyondTheEndOfARowIsTheRows) {
  for (const double aside : {0.0, 12.0}) {
    DrawnPanel drawn({120, 125, 130}, {40, 117, 175});  // as light as each other
    for (double x = -120; x <= 0; x += 4) drawn.disc({x, bottom + 10}, 1.2, {30, 30, 30});
    drawn.disc({29, bottom + 10 + aside}, 1.8, drawn.table());  // torn wider: the table shows, no darker than the panel
    const panel::Panel panel = drawn.read();
    ASSERT_EQ(panel.marks.needle_rows.size(), 1u);
    EXPECT_EQ(panel.marks.holes.size(), aside > 0 ? 1u : 0u) << "off the row's line it is a hole of its own";
  }
}

TEST(FindMarks, AShortChalkLineAtTheEdgeIsNoSlit) {
  DrawnPanel drawn({60, 50, 45}, {35, 32, 30});  // the table is darker than the panel: nothing light shows through it
  drawn.stroke({{-50, bottom - 0.3}, {-50, bottom + 5}}, 0.8, chalk);
  drawn.stroke({{50, bottom - 0.5}, {50, bottom + 5}}, 0.8, drawn.table());
  const panel::Panel panel = drawn.read();
  ASSERT_EQ(panel.marks.notches.size(), 1u);
  EXPECT_NEAR(panel.marks.notches[0].foot.x(), 50, 0.4);
}

TEST(FindMarks, StripesAreNotChalk) {
  DrawnPanel drawn({120, 125, 130});
  for (double x = -right + 8; x < right; x += 15) drawn.stroke({{x, bottom + 0.1}, {x, top - 0.1}}, 3, {190, 185, 180});
  const panel::Panel panel = drawn.read();
  EXPECT_EQ(panel.marks.matches.size(), 0u);
  EXPECT_FALSE(panel.marks.centre);
  EXPECT_FALSE(panel.marks.grain);
  EXPECT_TRUE(panel.marks.writings.empty());
}

TEST(FindMarks, AMarkBesideACornersOtherEdge) {
  DrawnPanel drawn;
  drawn.stroke({{-60, bottom}, {-60, bottom + 20}}, 2, chalk);
  drawn.stroke({{right - 5.5, top}, {right - 5.5, top - 24}}, 2, chalk);
  const panel::Panel panel = drawn.read();
  EXPECT_EQ(panel.marks.matches.size(), 2u);
  EXPECT_TRUE(near(panel, {right - 5.5, top}, 1));
}

TEST(FindMarks, ChalkAcrossRibsThatSkipsTheFurrowsIsOneMark) {
  // Ribs of 5 mm; wide chalk stays on their crests only, on marks drawn 8 mm apart.
  DrawnPanel drawn({120, 125, 130});
  for (double y = bottom + 5; y < top; y += 5)
    drawn.stroke({{-right + 0.1, y}, {right - 0.1, y}}, 1.6, {100, 105, 110});
  const cv::Scalar ink(150, 70, 40);
  const Polyline feet = {{-60, bottom}, {-52, bottom}, {-44, bottom}, {40, bottom}};
  for (const Vec2& foot : feet) {
    for (double y = bottom; y < bottom + 24; y += 5)
      drawn.stroke({foot + Vec2(0, y - bottom + 1.6), foot + Vec2(0, y - bottom + 3.4)}, 3.5, ink);
  }
  const panel::Panel panel = drawn.read();
  EXPECT_EQ(panel.marks.matches.size(), feet.size());
  for (const Vec2& foot : feet) EXPECT_TRUE(near(panel, foot, 1)) << foot.transpose();
}

TEST(FindMarks, ChalkAlongRibsIsToldFromTheRibs) {
  // Ribs of 4 mm, each as wide as the chalk and half as strong against the furrows: copies of a mark lie on ribs as often as not.
  DrawnPanel drawn({80, 70, 65});
  for (double x = -right + 4; x < right - 2; x += 4)
    drawn.stroke({{x, bottom + 0.1}, {x, top - 0.1}}, 2, {105, 95, 90});
  const Polyline feet = {{-90, bottom}, {10, bottom}, {70, bottom}};
  const panel::Panel bare = drawn.read();
  EXPECT_EQ(count_of(bare.marks), 0u);
  for (const Vec2& foot : feet) drawn.stroke({foot, foot + Vec2(0, 22)}, 2, {160, 150, 145});
  const panel::Panel panel = drawn.read();
  EXPECT_EQ(panel.marks.matches.size(), feet.size());
  for (const Vec2& foot : feet) EXPECT_TRUE(near(panel, foot, 1)) << foot.transpose();
}

TEST(FindMarks, AThreadOnThePanelIsNotTakenForItsChalk) {
  constexpr double noise = 18;  // grey steps: marks of 16 more than the panel are too faint to teach their own colour
  DrawnPanel drawn;
  Polyline bow;
  for (int i = 0; i <= 20; ++i) bow.emplace_back(25 * std::sin(0.09 * (i - 10)), -25 * std::cos(0.09 * (i - 10)));
  drawn.stroke(bow, 1.2, chalk);
  const Polyline feet = {{-90, bottom}, {-40, bottom}, {60, bottom}, {100, bottom}};
  for (const Vec2& foot : feet) drawn.stroke({foot, foot + Vec2(0, 22)}, 2, {76, 66, 61});
  const panel::Panel panel = drawn.read(noise);
  EXPECT_EQ(panel.marks.matches.size(), feet.size());
  for (const Vec2& foot : feet) EXPECT_TRUE(near(panel, foot, 1)) << foot.transpose();
}

}  // namespace chalkfold::trace
