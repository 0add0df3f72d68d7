// SPDX-License-Identifier: Apache-2.0
// Strips drawn pixel by pixel, with cuts at known places.
#include "pipeline/trace/cuts/slits.h"

#include <gtest/gtest.h>

#include <cmath>

#include "pipeline/trace/cuts/notch_opening.h"

namespace chalkfold::trace {
namespace {

constexpr double along_mm = 120, least = 2.4, most = 9.5;
const cv::Vec3d panel(60, 50, 45), table(20, 24, 30), chalk(225, 228, 226);

struct Cut {
  double mouth, tip, depth, width;
  cv::Vec3d colour;
};

/// Table above the edge, panel below, cuts in it; noise of two grey steps.
EdgeStrip strip_with(const std::vector<Cut>& cuts) {
  EdgeStrip strip;
  strip.mm_per_px = NotchStrip::resolution;
  strip.first_depth = -NotchStrip::outside;
  const int rows = static_cast<int>((NotchStrip::outside + NotchStrip::inside) / strip.mm_per_px) + 1,
            columns = static_cast<int>(along_mm / strip.mm_per_px);
  strip.bgr.create(rows, columns, CV_8UC3);
  cv::RNG random(3);
  for (int y = 0; y < rows; ++y) {
    for (int x = 0; x < columns; ++x) {
      const double depth = strip.depth_of(y), along = strip.along_of(x);
      cv::Vec3d colour = depth < 0 ? table : panel;
      for (const Cut& c : cuts) {
        const double middle = c.mouth + (c.tip - c.mouth) * depth / c.depth;
        // How much of the px the cut takes.
        const double share = std::clamp((c.width / 2 - std::abs(along - middle)) / strip.mm_per_px + 0.5, 0.0, 1.0);
        if (depth >= 0 && depth < c.depth) colour = share * c.colour + (1 - share) * colour;
      }
      for (int k = 0; k < 3; ++k)
        strip.bgr.at<cv::Vec3b>(y, x)[k] = cv::saturate_cast<unsigned char>(colour[k] + random.gaussian(2));
    }
  }
  return strip;
}

std::vector<SlitSeen> seen(const std::vector<Cut>& cuts) { return slits_in(strip_with(cuts), least, most); }

TEST(Slits, MouthTipAndDepthOfStraightAndSlantedCuts) {
  for (const double slant : {-2.0, 0.0, 2.0}) {
    for (const double depth : {4.0, 6.0, 8.0}) {
      const auto slits = seen({{60, 60 + slant, depth, 0.7, table}});
      ASSERT_EQ(slits.size(), 1u) << slant << ", " << depth;
      EXPECT_NEAR(slits[0].mouth, 60, 0.5) << "mm: a px and what a step of depth leaves of the slant";
      EXPECT_NEAR(slits[0].tip, 60 + slant, 0.6);
      EXPECT_NEAR(slits[0].depth, depth, 0.7) << "mm: a step of depth";
      EXPECT_GT(slits[0].contrast, 9);
    }
  }
}

TEST(Slits, NothingOnABareEdge) { EXPECT_TRUE(seen({}).empty()); }

struct NoSlit {
  const char* what;
  Cut cut;
};

TEST(Slits, WhatIsNoSlit) {
  for (const NoSlit& c :
       {NoSlit{"chalk goes on", {60, 60, 13, 0.7, table}}, NoSlit{"fray is short", {60, 60, 1.6, 0.7, table}},
        NoSlit{"a wide notch", {60, 60, 6, 8, table}},
        NoSlit{"lighter than table and panel: drawn", {60, 60, 6, 0.7, chalk}}})
    EXPECT_TRUE(seen({c.cut}).empty()) << c.what;
}

TEST(Slits, MoreThanAFewAlikeBelongToTheMaterial) {
  std::vector<Cut> cuts;
  for (double at = 15; at <= 105; at += 30) cuts.push_back({at, at, 6, 0.7, table});
  EXPECT_EQ(seen(cuts).size(), 4u);
  cuts.clear();
  for (double at = 15; at <= 105; at += 10) cuts.push_back({at, at, 6, 0.7, table});
  EXPECT_TRUE(seen(cuts).empty());
}

}  // namespace
}  // namespace chalkfold::trace
