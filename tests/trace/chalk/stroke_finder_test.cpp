// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/stroke_finder.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/chalk/panel_picture.h"
#include "tests/trace/drawn_panel.h"

namespace chalkfold::trace {
namespace {

using test::DrawnPanel;
constexpr double bottom = -DrawnPanel::height / 2, top = DrawnPanel::height / 2, right = DrawnPanel::width / 2;

std::vector<Stroke> strokes_of(const DrawnPanel& drawn, double noise, const StrokeOptions& options = {}) {
  return find_strokes(panel_picture(drawn.photo(noise), drawn.view(), drawn.panel(), 0), options);
}

/// Share of a line's millimetres that a stroke lies on.
double share_found(const std::vector<Stroke>& strokes, const Vec2& from, const Vec2& to) {
  constexpr double beside = 1.5;  // mm
  int found = 0;
  const int steps = static_cast<int>((to - from).norm());
  for (int i = 0; i <= steps; ++i) {
    const Vec2 p = from + (static_cast<double>(i) / steps) * (to - from);
    found += std::any_of(strokes.begin(), strokes.end(),
                         [&](const Stroke& s) { return geometry::distance_to(s.points, p, false) < beside; });
  }
  return static_cast<double>(found) / (steps + 1);
}

}  // namespace

TEST(FindStrokes, AStrongThreadDoesNotTellHowStrongTheChalkIs) {
  // Ribs of 4 mm; chalk along them, in the thread's own colour and an eighth as strong: too faint to be certain, far too long in the ribs to be a line of its own.
  DrawnPanel drawn({40, 35, 32});
  for (double x = -right + 4; x < right - 2; x += 4)
    drawn.stroke({{x, bottom + 0.1}, {x, top - 0.1}}, 1.8, {52, 47, 44});
  Polyline bow;
  for (int i = -10; i <= 10; ++i) bow.emplace_back(25 * std::sin(0.09 * i), -25 * std::cos(0.09 * i));
  drawn.stroke(bow, 1.2, {225, 228, 226});
  const std::vector<double> at = {-110, -66, 54, 102};
  for (const double x : at) drawn.stroke({{x, bottom}, {x, bottom + 24}}, 1.8, {74, 69, 66});
  const std::vector<Stroke> strokes = strokes_of(drawn, 1.5);
  for (const double x : at) EXPECT_GT(share_found(strokes, {x, bottom + 2}, {x, bottom + 22}), 0.6) << x;
  for (const Stroke& s : strokes) EXPECT_LT(s.length, 60) << "a rib";
}

TEST(FindStrokes, WhereAStrokeOfTheKnownChalkIsExpectedLessOfItWillDo) {
  DrawnPanel drawn({60, 50, 45});
  for (const double x : {-120.0, -60.0, 0.0, 60.0, 120.0})
    drawn.stroke({{x, top - 30}, {x, top - 5}}, 2, {140, 130, 125});
  // From what no one can see to what anyone can, in steps of a grey value.
  constexpr int count = 24, faintest = 8;
  for (int i = 0; i < count; ++i) {
    const double x = -right + 10 + 12 * i, step = faintest + i;
    drawn.stroke({{x, bottom + 4}, {x, bottom + 20}}, 2, {60 + step, 50 + step, 45 + step});
  }
  StrokeOptions everywhere, nowhere;
  everywhere.expected = [](const Stroke&) { return true; };
  nowhere.expected = [](const Stroke&) { return false; };
  constexpr double noise = 18;  // grey steps
  const std::vector<Stroke> without = strokes_of(drawn, noise), none = strokes_of(drawn, noise, nowhere),
                            with = strokes_of(drawn, noise, everywhere);
  EXPECT_EQ(none.size(), without.size());
  EXPECT_GT(with.size(), without.size());
  for (const Stroke& s : with) EXPECT_LT(s.length, 60) << "only what was drawn";
}

TEST(FindStrokes, ChalkFarAboveTheNoiseIsFoundHoweverSmallItsStep) {
  DrawnPanel drawn({60, 50, 45});
  for (const double x : {-100.0, -40.0, 30.0, 90.0})
    drawn.stroke({{x, bottom}, {x, bottom + 24}}, 2.5, {62.3, 52.3, 47.3});
  const std::vector<Stroke> strokes = strokes_of(drawn, 1.0);
  for (const double x : {-100.0, -40.0, 30.0, 90.0})
    EXPECT_GT(share_found(strokes, {x, bottom + 2}, {x, bottom + 22}), 0.6) << x;
}

}  // namespace chalkfold::trace
