// SPDX-License-Identifier: Apache-2.0
// What the network and the colours make of each other, on drawn maps.
#include "pipeline/trace/find/weigh_eye.h"

#include <gtest/gtest.h>

#include "tests/trace/find/drawn_maps.h"

namespace chalkfold::trace {
namespace {

using namespace test;

const cv::Mat everywhere(size, CV_8U, cv::Scalar(255));

TEST(WeighEye, WhereTheNetworkIsNotSureTheColoursDecide) {
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 80, 150, 150), flap(110, 10, 40, 70);
  lay(maps, panel, 0.97, 0.9);
  lay(maps, flap, 0.4, 0.9);
  const cv::Mat whole = filled(panel) | filled(flap);
  EXPECT_EQ(cv::countNonZero(weighed(whole, maps, panels_of(maps), no_paper, everywhere, 1) != whole), 0);
}

TEST(WeighEye, AStripTakenForAToolStaysWhole) {
  // Where the network sees no panel at all it does not nibble at one.
  EyeMaps maps = bare_table();
  const cv::Rect strip(20, 100, 360, 40), tool(200, 100, 100, 40);
  lay(maps, strip, 0.45, 0.9);
  lay(maps, tool, 0.1, 0.9);
  EXPECT_EQ(cv::countNonZero(weighed(filled(strip), maps, panels_of(maps), no_paper, everywhere, 1) != filled(strip)),
            0);
}

TEST(WeighEye, WithoutAnEdgeNothingIsCutOff) {
  // A panel that runs off the picture: the network, which knows them whole, grows unsure towards the border.
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 80, 340, 150), sure_part(60, 80, 180, 150);
  lay(maps, sure_part, 0.97, 0);
  cv::rectangle(maps.edge, panel, 0.9, edge_width);
  EXPECT_EQ(cv::countNonZero(weighed(filled(panel), maps, panels_of(maps), no_paper, everywhere, 1) != filled(panel)),
            0);
}

TEST(WeighEye, WhatShowsThroughACutOutIsNoPanel) {
  EyeMaps maps = bare_table();
  const cv::Rect panel(40, 40, 320, 220), cutout(100, 100, 120, 60);
  lay(maps, panel, 0.97, 0.9);
  cv::rectangle(maps.edge, cutout, 0.9, edge_width);
  const cv::Mat by_colour = filled(panel) & ~filled(cutout);
  EXPECT_EQ(cv::countNonZero(weighed(by_colour, maps, panels_of(maps), no_paper, everywhere, 1)(cutout)), 0);
  EXPECT_TRUE(seen_by_eye_alone(panels_of(maps), by_colour).empty());
}

TEST(WeighEye, ABordersWidthIsLeftToTheColours) {
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 80, 150, 150), by_colour(56, 76, 158, 158);
  lay(maps, panel, 0.97, 0.9);
  EXPECT_EQ(
      cv::countNonZero(weighed(filled(by_colour), maps, panels_of(maps), no_paper, everywhere, 1) != filled(by_colour)),
      0);
}

TEST(WeighEye, OnPaperTheNetworkDecidesAlone) {
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 80, 150, 150), sheet(180, 100, 120, 90);
  lay(maps, panel, 0.97, 0.9);
  const cv::Mat by_colour = filled(panel) & ~filled(sheet);  // what lies on paper is no colour of a panel's
  EXPECT_GT(shared(weighed(by_colour, maps, panels_of(maps), filled(sheet), everywhere, 1), filled(panel)), nearly_all);
}

TEST(WeighEye, APanelThatTheColoursHaveInPartIsLeftToTheNetwork) {
  // Brown on brown wood: the colours have half of it and some grain.
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 50, 200, 150), half(60, 50, 110, 150);
  lay(maps, panel, 0.97, 0.9);
  EXPECT_TRUE(weighed(filled(half) | filled({20, 60, 40, 20}), maps, panels_of(maps), no_paper, everywhere, 1).empty());
  EXPECT_FALSE(weighed(filled(panel), maps, panels_of(maps), no_paper, everywhere, 1).empty());
}

TEST(WeighEye, TwoPanelsThatTheNetworkTakesForOneStayTwo) {
  EyeMaps maps = bare_table();
  const cv::Rect both(40, 50, 300, 150), left(40, 50, 149, 150);
  lay(maps, both, 0.97, 0.9);
  cv::line(maps.edge, {190, 50}, {190, 200}, 0.1, edge_width);
  const auto seen = panels_of(maps);
  ASSERT_EQ(seen.size(), 1u);
  maps.edge.col(190).rowRange(50, 200).setTo(0.9);  // a gap that the network had not made up its mind about
  EXPECT_EQ(cv::countNonZero(weighed(filled(left), maps, seen, no_paper, everywhere, 1) != filled(left)), 0);
}

TEST(WeighEye, AStripThatTouchesAPanelIsToldApartFromIt) {
  // The network takes the strip for a tool, perhaps; the panel's edge it sees all round.
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 80, 150, 150), strip(206, 20, 36, 260), thread(100, 229, 3, 60);
  lay(maps, panel, 0.97, 0.9);
  lay(maps, strip, 0.3, 0.9);
  lay(maps, panel, 0.97, 0.9);
  const auto apart = told_apart(filled(panel) | filled(strip), maps, panels_of(maps), everywhere, 1, {});
  ASSERT_EQ(apart.size(), 2u);
  EXPECT_GT(shared(apart[0], filled(panel)), 0.93);
  EXPECT_GT(shared(apart[1], filled(strip)), 0.93);
  EXPECT_EQ(told_apart(filled(panel) | filled(thread), maps, panels_of(maps), everywhere, 1, {}).size(), 1u);
  maps.edge(cv::Rect(200, 100, 20, 80)).setTo(0);
  EXPECT_EQ(told_apart(filled(panel) | filled(strip), maps, panels_of(maps), everywhere, 1, {}).size(), 1u)
      << "no edge between";
}

TEST(WeighEye, AFringeOfGrainLeavesThePanelToTheNetwork) {
  // 80 mm of wood's grain joined to a long border: one part in ten of it, and a gap in its edge.
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 50, 250, 150), fringe(100, 200, 80, 30);
  lay(maps, panel, 0.97, 0.9);
  EXPECT_TRUE(weighed(filled(panel) | filled(fringe), maps, panels_of(maps), no_paper, everywhere, 1).empty());
}

TEST(WeighEye, AShadeWithoutAnEdgeIsNoPanel) {
  EXPECT_TRUE(weighed(filled({60, 50, 200, 150}), bare_table(), {}, no_paper, everywhere, 1).empty());
}

TEST(WeighEye, AStretchWithoutAnEdgeIsFoundAsLongAsItIs) {
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 50, 200, 150);
  lay(maps, panel, 0.97, 0.9);
  EXPECT_EQ(longest_without_edge(filled(panel), maps, everywhere, 1), 0);
  constexpr int bare = 80, reach = 3;  // px: of the square in which an edge counts, either side
  maps.edge(cv::Rect(100, 40, bare, 20)).setTo(0);
  EXPECT_NEAR(longest_without_edge(filled(panel), maps, everywhere, 1), bare - 2 * reach, 4);
}

TEST(WeighEye, AShadowsEdgeChangesTheLightByAnotherRatio) {
  // A grey panel on a light table, a band of half the light across both; then the band's strip of table taken for panel too.
  const cv::Rect panel(100, 100, 200, 120), band(170, 0, 60, 300);
  cv::Mat bgr(size, CV_8UC3, cv::Scalar(150, 170, 190));
  bgr(panel).setTo(cv::Scalar(70, 90, 120));
  cv::Mat shaded = bgr(band);
  shaded.convertTo(shaded, -1, 0.73);  // of the code: half of the light, about
  const cv::Mat open(size, CV_8U, cv::Scalar(255));
  EyeMaps maps = bare_table();
  const cv::Rect tongue(band.x, 10, band.width, 90);
  EXPECT_LT(longest_other_step(filled(panel), maps, bgr, open, 1), 20);
  EXPECT_GT(longest_other_step(filled(panel) | filled(tongue), maps, bgr, open, 1), 50);
  cv::rectangle(maps.edge, tongue, 0.9, edge_width);
  EXPECT_LT(longest_other_step(filled(panel) | filled(tongue), maps, bgr, open, 1), 20) << "a panel's edge, for sure";
}

}  // namespace
}  // namespace chalkfold::trace
