// SPDX-License-Identifier: Apache-2.0
#include "tests/accuracy/mark_score.h"

#include <gtest/gtest.h>

#include <cmath>

#include "demo/scenes/mark_scene.h"
#include "tests/accuracy/mark_trial.h"

namespace chalkfold::accuracy {
namespace {

/// A panel of 400 x 300 mm with one or two marks of every kind.
demo::LaidPanel true_panel() {
  demo::LaidPanel p;
  p.outline = {{0, 0}, {400, 0}, {400, 300}, {0, 300}};
  p.axis = {{Vec2(200, 0), Vec2(200, 300)}};
  p.marks.push_back({.kind = "match", .points = {{100, 0}, {100, 20}}, .group = 0});
  p.marks.push_back({.kind = "match", .points = {{108, 0}, {108, 20}}, .group = 0});
  p.marks.push_back({.kind = "match", .points = {{300, 0}, {300, 20}}, .group = 1});
  p.marks.push_back({.kind = "centre", .points = {{200, 5}, {200, 295}}});
  p.marks.push_back({.kind = "grain", .points = {{60, 100}, {60, 200}}, .style = "open", .directed = true});
  p.marks.push_back({.kind = "underside", .points = {{260, 100}, {300, 150}}});
  p.marks.push_back({.kind = "text", .points = {{330, 200}, {350, 230}}});
  p.marks.push_back({.kind = "notch", .points = {{400, 150}, {394, 150}}, .style = "vee", .depth = 6});
  p.marks.push_back({.kind = "hole", .points = {{120, 150}}, .diameter = 3});
  demo::SewnRow row;
  for (int k = 0; k < 50; ++k) row.holes.emplace_back(10, 30 + 4 * k);
  p.needle_rows.push_back(row);
  return p;
}

panel::MatchMark match_at(double x, int group) {
  panel::MatchMark m;
  m.foot = {x, 0};
  m.group = group;
  return m;
}

panel::Writing box_around(const Vec2& low, const Vec2& high, bool underside) {
  panel::Writing w;
  w.box = {low, Vec2(high.x(), low.y()), high, Vec2(low.x(), high.y())};
  w.underside = underside;
  return w;
}

/// Everything found, where it is.
chalkfold::panel::Panel perfect_panel() {
  chalkfold::panel::Panel p;
  p.marks.matches = {match_at(100, 0), match_at(108, 0), match_at(300, 1)};
  p.marks.centre = panel::CentreLine{.from = {200, 5}, .to = {200, 295}};
  p.marks.grain = panel::GrainLine{.tail = {60, 100}, .head = {60, 200}};
  p.marks.writings = {box_around({260, 100}, {300, 150}, true), box_around({330, 200}, {350, 230}, false)};
  panel::Notch notch;
  notch.foot = {400, 150};
  notch.depth = 6;
  p.marks.notches = {notch};
  panel::DrillHole hole;
  hole.centre = {120, 150};
  p.marks.holes = {hole};
  panel::NeedleRow row;
  row.points = {{10, 30}, {10, 226}};
  p.marks.needle_rows = {row};
  return p;
}

MarkScore score(const chalkfold::panel::Panel& p) { return score_marks(p, true_panel(), geometry::Rigid2{}); }

TEST(ScoreMarks, FindsAllOfAPerfectReading) {
  const MarkScore s = score(perfect_panel());
  for (const Tally& t : {s.match, s.centre, s.grain, s.underside, s.writing, s.notch, s.hole, s.row}) {
    EXPECT_GT(t.truth, 0);
    EXPECT_EQ(t.found, t.truth);
    EXPECT_EQ(t.invented, 0);
  }
  EXPECT_EQ(s.groups_right, 3);
  EXPECT_EQ(s.needle_holes_near, 50);
  EXPECT_EQ(s.notch_shape_right, 1);
  EXPECT_EQ(s.false_marks(), 0);
}

TEST(ScoreMarks, CountsAMarkGivenTwiceAsInvented) {
  chalkfold::panel::Panel p = perfect_panel();
  p.marks.matches.push_back(match_at(301, 2));
  p.marks.writings.push_back(box_around({261, 101}, {299, 149}, true));
  const MarkScore s = score(p);
  EXPECT_EQ(s.match.found, 3);
  EXPECT_EQ(s.match.invented, 1);
  EXPECT_DOUBLE_EQ(s.match.precision(), 0.75);
  EXPECT_EQ(s.underside.invented, 1);
  EXPECT_EQ(s.writing.invented, 1);
}

TEST(ScoreMarks, GivesEachMarkTheNearestFindingAndMissesWhatIsFar) {
  chalkfold::panel::Panel p = perfect_panel();
  p.marks.matches = {match_at(102.9, 0), match_at(100.5, 0), match_at(303.1, 1)};
  const MarkScore s = score(p);
  EXPECT_EQ(s.match.found, 1) << "102.9 is nearest to 100, which is taken, and too far from 108; 303.1 is too far";
  EXPECT_EQ(s.match.invented, 2);
  EXPECT_NEAR(s.match_errors.at(0), 0.5, 1e-12);
}

TEST(ScoreMarks, TellsAReversedGrainAndAMiscountedHead) {
  chalkfold::panel::Panel p = perfect_panel();
  std::swap(p.marks.grain->tail, p.marks.grain->head);
  EXPECT_EQ(score(p).grain_reversed, 1);
  EXPECT_NEAR(score(p).grain_angle_deg.at(0), 0, 1e-9);
  p.marks.grain->directed = false;
  EXPECT_EQ(score(p).grain_reversed, 0);
  EXPECT_EQ(score(p).grain_heads_wrong, 1);
}

TEST(ScoreMarks, MeasuresTheCentreLineAtThePanelsMiddle) {
  chalkfold::panel::Panel p = perfect_panel();
  const double slope = std::tan(0.01);  // about the panel's middle, then 0.7 mm aside
  p.marks.centre = panel::CentreLine{.from = {200.7 + 100 * slope, 50}, .to = {200.7 - 100 * slope, 250}};
  const MarkScore s = score(p);
  EXPECT_NEAR(s.centre_offset.at(0), 0.7, 1e-9);
  EXPECT_NEAR(s.centre_angle_deg.at(0), 0.01 * 180 / 3.14159265358979, 1e-6);
}

TEST(ScoreMarks, TakesAnotherLineForInventedAndTheCentreLineForMissed) {
  for (const panel::CentreLine& other : {panel::CentreLine{.from = {205.5, 5}, .to = {205.5, 295}},  // beside it
                                         panel::CentreLine{.from = {190, 5}, .to = {210, 295}},  // across it at a slant
                                         panel::CentreLine{.from = {5, 150}, .to = {395, 150}}}) {  // square to it
    chalkfold::panel::Panel p = perfect_panel();
    p.marks.centre = other;
    const MarkScore s = score(p);
    EXPECT_EQ(s.centre.truth, 1);
    EXPECT_EQ(s.centre.found, 0);
    EXPECT_EQ(s.centre.invented, 1);
    EXPECT_TRUE(s.centre_angle_deg.empty()) << "errors are those of lines found";
  }
}

TEST(ScoreMarks, TakesAnotherLineForInventedAndTheGrainForMissed) {
  for (const panel::GrainLine& other : {panel::GrainLine{.tail = {75, 100}, .head = {75, 200}},     // beside it
                                        panel::GrainLine{.tail = {60, 190}, .head = {60, 290}},     // beyond its end
                                        panel::GrainLine{.tail = {40, 100}, .head = {80, 200}}}) {  // at a slant
    chalkfold::panel::Panel p = perfect_panel();
    p.marks.grain = other;
    const MarkScore s = score(p);
    EXPECT_EQ(s.grain.truth, 1);
    EXPECT_EQ(s.grain.found, 0);
    EXPECT_EQ(s.grain.invented, 1);
    EXPECT_TRUE(s.grain_angle_deg.empty());
  }
}

TEST(ScoreMarks, KnowsRowsThatAreAstray) {
  chalkfold::panel::Panel p = perfect_panel();
  panel::NeedleRow astray;
  astray.points = {{30, 30}, {30, 200}};
  p.marks.needle_rows = {astray};
  const MarkScore s = score(p);
  EXPECT_EQ(s.row.found, 0);
  EXPECT_EQ(s.row.invented, 1);
  EXPECT_EQ(s.needle_holes_near, 0);
}

TEST(ScoreMarks, MissesEverythingOfAPanelNotMeasured) {
  const MarkScore s = score_missing(true_panel());
  EXPECT_EQ(s.missing, 1);
  EXPECT_EQ(s.match.truth, 3);
  EXPECT_EQ(s.match.found + s.notch.found + s.row.found + s.writing.found, 0);
  EXPECT_EQ(s.false_marks(), 0);
}

TEST(TruthFromMeasured, RecoversTheMotionOfAnOutline) {
  const demo::LaidPanel panel = demo::mark_scene(3).scene.panels.at(0);
  const geometry::Rigid2 motion{0.02, {3, -2}};
  Polyline moved;
  for (const Vec2& p : panel.outline) moved.push_back(motion.inverse() * p);
  const geometry::Rigid2 back = truth_from_measured(moved, panel.outline, geometry::Rigid2{});
  constexpr double sampling_mm = 0.1;  // nearest points slide along smooth edges as the rounds end
  for (const Vec2& p : panel.corners) EXPECT_LT((back * (motion.inverse() * p) - p).norm(), sampling_mm);
}

TEST(RunTrial, MeasuresThePanelAndIsTheSameEveryTime) {
  demo::MarkSceneOptions options;
  options.width_px = 2016;  // a fourth of the pixels
  options.material = "plain-leather";
  const TrialResult a = run_trial(5, options), b = run_trial(5, options);
  EXPECT_EQ(a.fault, "");
  EXPECT_EQ(a.score.missing, 0);
  EXPECT_GT(a.score.match.truth, 4);
  EXPECT_EQ(a.score.match_errors, b.score.match_errors);
  EXPECT_EQ(a.score.false_marks(), b.score.false_marks());
}

}  // namespace
}  // namespace chalkfold::accuracy
