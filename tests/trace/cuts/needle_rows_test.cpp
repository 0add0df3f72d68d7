// SPDX-License-Identifier: Apache-2.0
// Rows of holes drawn at known places along one edge.
#include "pipeline/trace/cuts/needle_rows.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "tests/trace/drawn_panel.h"

namespace chalkfold::trace {
namespace {

using test::DrawnPanel;
constexpr double bottom = -DrawnPanel::height / 2;
const cv::Scalar material(120, 125, 130), dark(30, 30, 30);

/// Those beside the lower edge.
std::vector<panel::NeedleRow> rows_of(const DrawnPanel& drawn, double noise = 1.5) {
  const geometry::ClosedOutline outline(drawn.panel().outline.points);
  std::vector<panel::NeedleRow> rows;
  for (const EdgeBase& base : edge_bases(outline)) {
    if (base.points[base.points.size() / 2].y() > bottom + 1) continue;
    rows = find_needle_rows(drawn.photo(noise), drawn.view(), outline, base, 0);
  }
  return rows;
}

struct Row {
  double depth, pitch, hole;
};

TEST(NeedleRows, EveryPitchDepthAndHole) {
  for (const Row& r : {Row{5, 2.8, 1.0}, Row{10, 3.7, 1.2}, Row{12, 5, 1.4}, Row{18, 6.5, 1.6}}) {
    DrawnPanel drawn(material);
    std::size_t count = 0;
    for (double x = -110; x <= 110; x += r.pitch, ++count) drawn.disc({x, bottom + r.depth}, r.hole, dark);
    const auto rows = rows_of(drawn);
    ASSERT_EQ(rows.size(), 1u) << r.pitch;
    EXPECT_NEAR(rows[0].pitch, r.pitch, 0.05) << "mm";
    EXPECT_NEAR(rows[0].allowance, r.depth, 0.1) << "mm, a third of a px";
    EXPECT_LT(rows[0].allowance_spread, 0.15) << "drawn straight";
    EXPECT_GT(rows[0].found_share, 0.95);
    EXPECT_NEAR(static_cast<double>(rows[0].points.size()), static_cast<double>(count), 2);
    for (const Vec2& p : rows[0].points) EXPECT_NEAR(p.y(), bottom + r.depth, 0.15) << r.pitch;
  }
}

TEST(NeedleRows, ASlantedSeamIsFollowed) {
  DrawnPanel drawn(material);
  const auto at = [](double x) { return bottom + 11 + 0.02 * x; };
  for (double x = -110; x <= 110; x += 4) drawn.disc({x, at(x)}, 1.2, dark);
  const auto rows = rows_of(drawn);
  ASSERT_EQ(rows.size(), 1u);
  for (const Vec2& p : rows[0].points) EXPECT_NEAR(p.y(), at(p.x()), 0.15);
}

TEST(NeedleRows, AMissingHoleCostsTheShareAndABreakDoesNot) {
  for (const bool worn : {false, true}) {
    DrawnPanel drawn(material);
    int k = 0;
    for (double x = -110; x <= 110; x += 4, ++k) {
      if (worn ? std::abs(x) < 12 : k % 5 == 2) continue;
      drawn.disc({x, bottom + 10}, 1.2, dark);
    }
    const auto rows = rows_of(drawn);
    ASSERT_EQ(rows.size(), 1u) << worn;
    EXPECT_NEAR(rows[0].found_share, worn ? 1 : 0.8, 0.04) << worn;
  }
}

TEST(NeedleRows, NoneOfTooFewOrUnevenDotsNorOfASpeckledMaterial) {
  DrawnPanel few(material);
  for (double x = 0; x <= 20; x += 4) few.disc({x, bottom + 10}, 1.2, dark);  // 20 mm of seam
  EXPECT_TRUE(rows_of(few).empty());
  DrawnPanel speckled(material);
  cv::RNG random(11);
  for (int i = 0; i < 1500; ++i)
    speckled.disc({random.uniform(-145.0, 145.0), bottom + random.uniform(1.0, 60.0)}, 1.2, dark);
  EXPECT_TRUE(rows_of(speckled).empty());
  DrawnPanel weave(material);  // gaps as regular as a seam's, everywhere
  for (double x = -140; x <= 140; x += 4)
    for (double y = 4; y <= 60; y += 4) weave.disc({x, bottom + y}, 1.2, dark);
  EXPECT_TRUE(rows_of(weave).empty());
}

}  // namespace
}  // namespace chalkfold::trace
