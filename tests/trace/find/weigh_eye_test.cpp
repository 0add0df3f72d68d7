// SPDX-License-Identifier: Apache-2.0
// What the network and the colours make of each other, on drawn maps.
#include "pipeline/trace/find/weigh_eye.h"

#include <gtest/gtest.h>

#include "tests/trace/find/drawn_maps.h"

namespace chalkfold::trace {
namespace {

using namespace test;

/// The one part that is left of a panel as the colours have it; an empty picture when they are more or none.
cv::Mat one_left(const cv::Mat& by_colour, const EyeMaps& maps, const cv::Mat& paper) {
  const auto left = weighed(by_colour, maps, panels_of(maps), paper, 1);
  EXPECT_EQ(left.size(), 1u);
  return left.size() == 1 ? left[0] : cv::Mat(cv::Mat::zeros(size, CV_8U));
}

TEST(WeighEye, WhatTheNetworkTakesForTableIsCutOff) {
  // A hard shadow hangs on the panel; the colours took both.
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 80, 150, 150), tongue(110, 10, 40, 70);
  lay(maps, panel, 0.97, 0.9);
  EXPECT_GT(shared(one_left(filled(panel) | filled(tongue), maps, no_paper), filled(panel)), nearly_all);
}

TEST(WeighEye, WhereTheNetworkIsNotSureTheColoursDecide) {
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 80, 150, 150), flap(110, 10, 40, 70);
  lay(maps, panel, 0.97, 0.9);
  lay(maps, flap, 0.4, 0);
  const cv::Mat whole = filled(panel) | filled(flap);
  EXPECT_EQ(cv::countNonZero(one_left(whole, maps, no_paper) != whole), 0);
}

TEST(WeighEye, AStripTakenForAToolStaysWhole) {
  // Where the network sees no panel at all it does not nibble at one.
  EyeMaps maps = bare_table();
  const cv::Rect strip(20, 100, 360, 40), tool(200, 100, 100, 40);
  lay(maps, strip, 0.45, 0.9);
  lay(maps, tool, 0.1, 0.9);
  EXPECT_EQ(cv::countNonZero(one_left(filled(strip), maps, no_paper) != filled(strip)), 0);
}

TEST(WeighEye, WithoutAnEdgeNothingIsCutOff) {
  // A panel that runs off the picture: the network, which knows them whole, grows unsure towards the border.
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 80, 340, 150), sure_part(60, 80, 180, 150);
  lay(maps, sure_part, 0.97, 0);
  cv::rectangle(maps.edge, panel, 0.9, edge_width);
  EXPECT_EQ(cv::countNonZero(one_left(filled(panel), maps, no_paper) != filled(panel)), 0);
}

TEST(WeighEye, WhatShowsThroughACutOutIsNoPanel) {
  EyeMaps maps = bare_table();
  const cv::Rect panel(40, 40, 320, 220), cutout(100, 100, 120, 60);
  lay(maps, panel, 0.97, 0.9);
  cv::rectangle(maps.edge, cutout, 0.9, edge_width);
  const cv::Mat by_colour = filled(panel) & ~filled(cutout);
  EXPECT_EQ(cv::countNonZero(one_left(by_colour, maps, no_paper)(cutout)), 0);
  EXPECT_TRUE(seen_by_eye_alone(panels_of(maps), by_colour).empty());
}

TEST(WeighEye, ABordersWidthIsLeftToTheColours) {
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 80, 150, 150), by_colour(56, 76, 158, 158);
  lay(maps, panel, 0.97, 0.9);
  EXPECT_EQ(cv::countNonZero(one_left(filled(by_colour), maps, no_paper) != filled(by_colour)), 0);
}

TEST(WeighEye, OnPaperTheNetworkDecidesAlone) {
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 80, 150, 150), sheet(180, 100, 120, 90);
  lay(maps, panel, 0.97, 0.9);
  const cv::Mat by_colour = filled(panel) & ~filled(sheet);  // what lies on paper is no colour of a panel's
  EXPECT_GT(shared(one_left(by_colour, maps, filled(sheet)), filled(panel)), nearly_all);
}

TEST(WeighEye, TwoThatTheColoursTookForOneAreSharedOut) {
  EyeMaps maps = bare_table();
  const cv::Rect left(40, 50, 120, 150), right(160, 50, 120, 150);
  lay(maps, left, 0.95, 0.8);
  lay(maps, right, 0.95, 0.8);
  const auto parts = weighed(filled(left | right), maps, panels_of(maps), no_paper, 1);
  ASSERT_EQ(parts.size(), 2u);
  EXPECT_EQ(cv::countNonZero(parts[0] & parts[1]), 0);
  EXPECT_EQ(cv::countNonZero(parts[0] | parts[1]), (left | right).area());
}

TEST(WeighEye, AShadowAcrossCountsOnlyWhereColoursSeeAnotherShape) {
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 50, 200, 150), band(130, 0, 40, 300);
  lay(maps, panel, 0.97, 0.9);
  EXPECT_TRUE(crossed_by_shadow(panels_of(maps), maps, filled(band)).empty()) << "no shadow, none crosses";
  maps.shadow(band).setTo(0.9);
  EXPECT_EQ(crossed_by_shadow(panels_of(maps), maps, filled(panel) | filled(band)).size(), 1u);
  EXPECT_TRUE(crossed_by_shadow(panels_of(maps), maps, filled(panel)).empty()) << "both witnesses have it already";
}

}  // namespace
}  // namespace chalkfold::trace
