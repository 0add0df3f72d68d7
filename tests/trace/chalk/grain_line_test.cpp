// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/grain_line.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/trace/drawn_panel.h"

namespace chalkfold::trace {

using test::DrawnPanel;

namespace {
const cv::Scalar chalk(225, 228, 226);
}

TEST(GrainLine, GrainArrowsOfBothStylesAndNeverReversed) {
  enum class Style { open, filled, both_ends };
  for (const Style style : {Style::open, Style::filled, Style::both_ends}) {
    for (const double angle : {0.4, 2.6, 4.4}) {
      DrawnPanel drawn;
      const Vec2 u(std::cos(angle), std::sin(angle)), n(-u.y(), u.x()), tail = -45 * u + Vec2(30, 0),
                                                                        head = 45 * u + Vec2(30, 0);
      drawn.stroke({tail, head}, 2, chalk);
      const auto open = [&](const Vec2& at, const Vec2& way) {
        drawn.stroke({at - 16 * way + 9 * n, at}, 2, chalk);
        drawn.stroke({at - 16 * way - 9 * n, at}, 2, chalk);
      };
      if (style == Style::filled) drawn.polygon({head - 17 * u + 8 * n, head - 17 * u - 8 * n, head + 2 * u}, chalk);
      if (style != Style::filled) open(head, u);
      if (style == Style::both_ends) open(tail, -u);
      const panel::Panel panel = drawn.read();
      ASSERT_TRUE(panel.marks.grain) << static_cast<int>(style) << " " << angle;
      EXPECT_EQ(panel.marks.grain->directed, style != Style::both_ends);
      const double along = (panel.marks.grain->head - panel.marks.grain->tail).normalized().dot(u);
      EXPECT_GT(style == Style::both_ends ? std::abs(along) : along, std::cos(0.02))
          << static_cast<int>(style) << " " << angle;
      EXPECT_TRUE(panel.marks.matches.empty());
    }
  }
}

TEST(GrainLine, ALineWithoutAHeadIsNoGrainLine) {
  DrawnPanel drawn;
  drawn.stroke({{-100, -40}, {-20, 30}}, 2, chalk);
  EXPECT_FALSE(drawn.read().marks.grain);
}

// A weave whose threads run slantwise passes for a head at the line's end; it does so beside the whole line.
TEST(GrainLine, AHerringboneBesideALineIsNoHead) {
  const auto grain = [](bool weave, bool head) {
    const cv::Scalar material(60, 50, 45);
    DrawnPanel drawn(material);
    if (weave)
      for (double x = -132; x <= 120; x += 9)
        for (const double side : {-1.0, 1.0})
          drawn.stroke({{x, 10}, {x - 16, 10 + side * 9}}, 1.6, material + 0.55 * (chalk - material));
    drawn.stroke({{-130, 10}, {125, 10}}, 2.5, chalk);
    if (head)
      for (const double side : {-1.0, 1.0}) drawn.stroke({{125, 10}, {109, 10 + side * 9}}, 2.5, chalk);
    return drawn.read().marks.grain;
  };
  EXPECT_FALSE(grain(true, false));
  EXPECT_TRUE(grain(false, true));
}

}  // namespace chalkfold::trace
