// SPDX-License-Identifier: Apache-2.0
// Strips drawn pixel by pixel, with openings at known places; depths and widths in closed form.
#include "pipeline/trace/cuts/notch_opening.h"

#include <gtest/gtest.h>

#include <cmath>

namespace chalkfold::trace {
namespace {

constexpr double along_mm = 100, px = NotchStrip::resolution;
const cv::Vec3d panel(60, 50, 45), table(120, 160, 190);

/// Table above the edge and wherever depth_at(along) is deeper, panel below; noise of two grey steps.
template <class Depth>
EdgeStrip strip_with(Depth&& depth_at) {
  EdgeStrip strip;
  strip.mm_per_px = px;
  strip.first_depth = -NotchStrip::outside;
  strip.bgr.create(static_cast<int>((NotchStrip::outside + NotchStrip::inside) / px) + 1,
                   static_cast<int>(along_mm / px), CV_8UC3);
  cv::RNG random(5);
  for (int y = 0; y < strip.bgr.rows; ++y) {
    for (int x = 0; x < strip.bgr.cols; ++x) {
      const double share = std::clamp((depth_at(strip.along_of(x)) - strip.depth_of(y)) / px + 0.5, 0.0, 1.0);
      const cv::Vec3d colour = share * table + (1 - share) * panel;
      for (int k = 0; k < 3; ++k)
        strip.bgr.at<cv::Vec3b>(y, x)[k] = cv::saturate_cast<unsigned char>(colour[k] + random.gaussian(2));
    }
  }
  return strip;
}

double vee(double along) { return std::max(0.0, 6 - 2 * std::abs(along - 50)); }

TEST(OpenMap, TellsTableFromPanelAndHowWell) {
  const EdgeStrip strip = strip_with(vee);
  const OpenMap map = open_map(strip);
  const auto row = [&](double depth) { return static_cast<int>(std::lround((depth - strip.first_depth) / px)); };
  const auto column = [&](double along) { return static_cast<int>(std::lround(along / px)); };
  EXPECT_NEAR(map.open.at<float>(row(2), column(50)), 1, 0.1);
  EXPECT_NEAR(map.open.at<float>(row(2), column(20)), 0, 0.1);
  EXPECT_EQ(map.open.at<float>(row(-1), column(20)), 0) << "outside the edge it is left at 0";
  EXPECT_TRUE(map.table_like(row(2), column(50)));
  EXPECT_FALSE(map.table_like(row(2), column(20)));
  // Steps over the spread within: noise of 2 grey steps after smoothing, coding's 2 besides: well above 20, and not a thousand.
  const double apart = cv::norm(table - panel);
  EXPECT_GT(map.contrast[static_cast<std::size_t>(column(20))], apart / std::hypot(2, 2, 2));
  EXPECT_LT(map.contrast[static_cast<std::size_t>(column(20))], apart / 2);
}

TEST(Openings, AVsDepthsAndWidths) {
  const EdgeStrip strip = strip_with(vee);
  const auto openings = openings_in(open_map(strip), strip);
  ASSERT_EQ(openings.size(), 1u);
  const Opening& o = openings[0];
  for (int x = o.from; x < o.to; ++x) {
    const double truth = vee(strip.along_of(x));
    if (truth > 2 && truth < 5) {
      EXPECT_NEAR(o.depth[static_cast<std::size_t>(x - o.from)], truth, 0.3) << "mm, of an area that blur keeps";
    }
  }
  EXPECT_NEAR(o.deepest(), 6, 0.8) << "blur takes the tip";
  const auto span = o.span(3);
  ASSERT_TRUE(span);
  EXPECT_NEAR(strip.along_of(span->second - span->first), 3, 0.3) << "a V of 6 mm is half as wide at half its depth";
}

TEST(Openings, SeveralInOrderAndNoneOnABareOrFrayedEdge) {
  const auto three = [](double along) {
    return std::max({vee(along), vee(along + 25), along > 80 && along < 85 ? 4.0 : 0.0});
  };
  const EdgeStrip strip = strip_with(three);
  const auto openings = openings_in(open_map(strip), strip);
  ASSERT_EQ(openings.size(), 3u);
  const double middles[] = {25, 50, 82.5};
  for (std::size_t i = 0; i < 3; ++i)
    EXPECT_NEAR(strip.along_of(0.5 * (openings[i].from + openings[i].to)), middles[i], 0.4);
  EXPECT_NEAR(strip.along_of(openings[2].to - openings[2].from), 5, 0.5);
  const EdgeStrip frayed = strip_with([](double along) { return 0.35 + 0.35 * std::sin(2 * along); });
  EXPECT_TRUE(openings_in(open_map(frayed), frayed).empty());
}

TEST(Openings, AThreadAcrossACutDoesNotEndIt) {
  for (const double thread : {0.4, 1.4}) {
    EdgeStrip strip = strip_with([](double along) { return along > 48 && along < 53 ? 7.0 : 0.0; });
    for (int y = 0; y < strip.bgr.rows; ++y) {
      if (std::abs(strip.depth_of(y) - 3) <= thread / 2)
        strip.bgr.row(y).setTo(cv::Scalar(panel[0], panel[1], panel[2]));
    }
    const auto openings = openings_in(open_map(strip), strip);
    ASSERT_EQ(openings.size(), 1u) << thread;
    if (thread < 1) {
      EXPECT_NEAR(openings[0].deepest(), 7 - thread, 0.5) << "an area, less the thread's";
    } else {
      EXPECT_NEAR(openings[0].deepest(), 3 - thread / 2, 0.5) << "ends at what is no thread";
    }
  }
}

TEST(OpenExtent, ReachesTheEndOfASlit) {
  const EdgeStrip strip = strip_with([](double along) { return std::abs(along - 50) < 0.6 ? 6.0 : 0.0; });
  EXPECT_NEAR(open_extent(open_map(strip), strip, static_cast<int>(50 / px)), 6, 0.3);
  EXPECT_EQ(open_extent(open_map(strip), strip, static_cast<int>(30 / px)), 0);
}

// Interpolated between columns 0.2 mm apart, a triangle's span at any depth is its closed form.
TEST(Opening, SpanOfATriangle) {
  Opening o;
  o.to = 21;
  for (int i = 0; i <= 20; ++i) o.depth.push_back(5 - 0.5 * std::abs(i - 10));
  for (const double level : {0.7, 2.5, 4.2}) {
    const auto span = o.span(level);
    ASSERT_TRUE(span);
    EXPECT_NEAR(span->first, 2 * level, 1e-9) << level;
    EXPECT_NEAR(span->second, 20 - 2 * level, 1e-9) << level;
  }
  EXPECT_FALSE(o.span(5.1));
}

}  // namespace
}  // namespace chalkfold::trace
