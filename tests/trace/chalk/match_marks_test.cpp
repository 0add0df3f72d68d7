// SPDX-License-Identifier: Apache-2.0
// Marks whose stroke is not all there, or runs on, drawn on a plain panel and read again.
#include "pipeline/trace/chalk/match_marks.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "pipeline/geometry/polygon.h"
#include "tests/trace/drawn_panel.h"

namespace chalkfold::trace {
namespace {

using test::DrawnPanel;
const cv::Scalar chalk(225, 228, 226);
constexpr double bottom = -DrawnPanel::height / 2;
constexpr double place_mm = 0.5;  // a third of a photo pixel, over the lever from where the stroke ends to the outline

bool stands_at(const panel::Panel& panel, const Vec2& foot) {
  return std::any_of(panel.marks.matches.begin(), panel.marks.matches.end(),
                     [&](const panel::MatchMark& m) { return (m.foot - foot).norm() < place_mm; });
}

}  // namespace

TEST(MatchMarks, WornBesideTheEdgeAMarkIsReadWhereItsGrainsRunOnAndNowhereElse) {
  DrawnPanel drawn;
  constexpr double worn = 7;  // mm
  for (const double x : {-90.0, -30.0, 30.0, 90.0}) drawn.stroke({{x, bottom + worn}, {x, bottom + 25}}, 2, chalk);
  for (const double x : {-90.0, 30.0}) {
    for (double y = 1.5; y < worn; y += 1.7) drawn.disc({x + 0.3, bottom + y}, 0.7, chalk);
  }
  const panel::Panel panel = drawn.read();
  EXPECT_EQ(panel.marks.matches.size(), 2u);
  for (const double x : {-90.0, 30.0}) EXPECT_TRUE(stands_at(panel, {x, bottom})) << x;
}

TEST(MatchMarks, AMarkRunsOnIntoWhatIsWrittenBesideItAndAThreadIsNoMark) {
  DrawnPanel drawn;
  // A mark without a gap before the loop of its number, and the same mirrored.
  for (const double side : {-1.0, 1.0}) {
    Polyline line = {{60 * side, bottom}, {60 * side, bottom + 14}};
    for (int i = 1; i <= 10; ++i) {
      const double a = 0.25 * i;
      line.emplace_back(60 * side + side * 7 * (1 - std::cos(a)), bottom + 14 + 7 * std::sin(a));
    }
    drawn.stroke(line, 2, chalk);
  }
  Polyline thread;
  for (int i = 0; i <= 24; ++i) thread.emplace_back(22 * (1 - std::cos(0.07 * i)), bottom + 22 * std::sin(0.07 * i));
  drawn.stroke(thread, 2, chalk);
  const panel::Panel panel = drawn.read();
  EXPECT_EQ(panel.marks.matches.size(), 2u);
  for (const double x : {-60.0, 60.0}) EXPECT_TRUE(stands_at(panel, {x, bottom})) << x;
}

}  // namespace chalkfold::trace
