// SPDX-License-Identifier: Apache-2.0
// Panels out of made-up maps of the network: what is one, what is two, what is none.
#include "pipeline/trace/find/eye_panels.h"

#include <gtest/gtest.h>

#include <opencv2/imgproc.hpp>

#include "pipeline/trace/find/weigh_eye.h"

namespace chalkfold::trace {
namespace {

const cv::Size size(400, 300);  // px of 1 mm
constexpr int edge_width = 3;   // px: what the network was taught an edge is

EyeMaps bare_table() {
  EyeMaps maps;
  for (cv::Mat* m : {&maps.panel, &maps.paper, &maps.thing, &maps.edge, &maps.shadow})
    *m = cv::Mat::zeros(size, CV_32F);
  maps.table = cv::Mat::ones(size, CV_32F);
  return maps;
}

/// A panel with its edge as sure as told.
void lay(EyeMaps& maps, const cv::Rect& where, double sure, double edge) {
  maps.panel(where).setTo(sure);
  maps.table(where).setTo(1 - sure);
  if (edge > 0) cv::rectangle(maps.edge, where, edge, edge_width);
}

cv::Mat filled(const cv::Rect& where) {
  cv::Mat mask = cv::Mat::zeros(size, CV_8U);
  mask(where).setTo(255);
  return mask;
}

double shared(const cv::Mat& a, const cv::Mat& b) {
  return static_cast<double>(cv::countNonZero(a & b)) / cv::countNonZero(a | b);
}

std::vector<EyePanel> panels_of(const EyeMaps& maps) {
  return eye_panels(maps, cv::Mat(size, CV_8U, cv::Scalar(255)), 1, {});
}

const cv::Mat no_paper = cv::Mat::zeros(size, CV_8U);
constexpr double nearly_all = 0.97;  // intersection over union: half a pixel all round is 2 %

TEST(EyePanels, FindsAPanelWhereItLies) {
  EyeMaps maps = bare_table();
  const cv::Rect where(60, 50, 200, 150);
  lay(maps, where, 0.95, 0.9);
  const auto found = panels_of(maps);
  ASSERT_EQ(found.size(), 1u);
  EXPECT_GT(shared(found[0].mask, filled(where)), nearly_all);
  EXPECT_NEAR(found[0].sure, 0.95, 0.01);
  EXPECT_GT(found[0].bounded, 0.8);
}

TEST(EyePanels, TellsTwoPanelsThatTouchByTheEdgeBetween) {
  EyeMaps maps = bare_table();
  const cv::Rect left(40, 50, 120, 150), right(160, 50, 120, 150);
  lay(maps, left, 0.95, 0.8);
  lay(maps, right, 0.95, 0.8);
  const auto found = panels_of(maps);
  ASSERT_EQ(found.size(), 2u);
  constexpr double but_the_edge = 0.93;  // the edge between, of 3 px and smoothed, goes to one of them
  for (const cv::Rect& one : {left, right})
    EXPECT_GT(std::max(shared(found[0].mask, filled(one)), shared(found[1].mask, filled(one))), but_the_edge);
}

TEST(EyePanels, AChalkLineAcrossPartsNoPanel) {
  EyeMaps maps = bare_table();
  const cv::Rect where(40, 50, 240, 150);
  lay(maps, where, 0.95, 0.8);
  cv::line(maps.edge, {160, 50}, {160, 200}, 0.1, edge_width);  // it is not sure that chalk is none
  EXPECT_EQ(panels_of(maps).size(), 1u);
}

TEST(EyePanels, ACloudOfDoubtHasNoEdge) {
  EyeMaps maps = bare_table();
  lay(maps, {60, 50, 200, 150}, 0.85, 0);
  const auto found = panels_of(maps);
  ASSERT_EQ(found.size(), 1u);
  EXPECT_EQ(found[0].bounded, 0);
  EXPECT_TRUE(seen_by_eye_alone(found, cv::Mat::zeros(size, CV_8U)).empty());
}

TEST(EyePanels, FillsChalkAndKeepsCutOuts) {
  EyeMaps maps = bare_table();
  const cv::Rect where(60, 50, 200, 150), chalk(100, 100, 40, 3), cutout(180, 90, 30, 20);
  lay(maps, where, 0.95, 0.9);
  for (const cv::Rect& hole : {chalk, cutout}) maps.panel(hole).setTo(0.1);
  const auto found = panels_of(maps);
  ASSERT_EQ(found.size(), 1u);
  EXPECT_EQ(cv::countNonZero(~found[0].mask(chalk)), 0);
  EXPECT_GT(cv::countNonZero(~found[0].mask(cutout)), cutout.area() / 2);
}

TEST(EyePanels, WhatIsNarrowOrUnseenIsNone) {
  EyeMaps maps = bare_table();
  lay(maps, {20, 20, 300, 14}, 0.95, 0);
  EXPECT_TRUE(panels_of(maps).empty());
  lay(maps, {60, 50, 200, 150}, 0.95, 0);
  EXPECT_TRUE(eye_panels(maps, cv::Mat::zeros(size, CV_8U), 1, {}).empty());
}

TEST(WeighEye, WhatTheNetworkTakesForTableIsCutOff) {
  // A hard shadow hangs on the panel; the colours took both.
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 80, 150, 150), tongue(110, 10, 40, 70);
  lay(maps, panel, 0.97, 0.9);
  const auto left = weighed(filled(panel) | filled(tongue), maps, panels_of(maps), no_paper, 1);
  ASSERT_EQ(left.size(), 1u);
  EXPECT_GT(shared(left[0], filled(panel)), nearly_all);
}

TEST(WeighEye, WhereTheNetworkIsNotSureTheColoursDecide) {
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 80, 150, 150), flap(110, 10, 40, 70);
  lay(maps, panel, 0.97, 0.9);
  lay(maps, flap, 0.4, 0);
  const cv::Mat whole = filled(panel) | filled(flap);
  const auto left = weighed(whole, maps, panels_of(maps), no_paper, 1);
  ASSERT_EQ(left.size(), 1u);
  EXPECT_EQ(cv::countNonZero(left[0] != whole), 0);
}

TEST(WeighEye, AStripTakenForAToolStaysWhole) {
  // Where the network sees no panel at all it does not nibble at one.
  EyeMaps maps = bare_table();
  const cv::Rect strip(20, 100, 360, 40), tool(200, 100, 100, 40);
  lay(maps, strip, 0.45, 0.9);
  lay(maps, tool, 0.1, 0.9);
  const auto left = weighed(filled(strip), maps, panels_of(maps), no_paper, 1);
  ASSERT_EQ(left.size(), 1u);
  EXPECT_EQ(cv::countNonZero(left[0] != filled(strip)), 0);
}

TEST(WeighEye, WithoutAnEdgeNothingIsCutOff) {
  // A panel that runs off the picture: the network, which knows them whole, grows unsure towards the border.
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 80, 340, 150), sure_part(60, 80, 180, 150);
  lay(maps, sure_part, 0.97, 0);
  cv::rectangle(maps.edge, panel, 0.9, edge_width);
  const auto left = weighed(filled(panel), maps, panels_of(maps), no_paper, 1);
  ASSERT_EQ(left.size(), 1u);
  EXPECT_EQ(cv::countNonZero(left[0] != filled(panel)), 0);
}

TEST(WeighEye, WhatShowsThroughACutOutIsNoPanel) {
  EyeMaps maps = bare_table();
  const cv::Rect panel(40, 40, 320, 220), cutout(100, 100, 120, 60);
  lay(maps, panel, 0.97, 0.9);
  cv::rectangle(maps.edge, cutout, 0.9, edge_width);
  const cv::Mat by_colour = filled(panel) & ~filled(cutout);
  const auto left = weighed(by_colour, maps, panels_of(maps), no_paper, 1);
  ASSERT_EQ(left.size(), 1u);
  EXPECT_EQ(cv::countNonZero(left[0](cutout)), 0);
  EXPECT_TRUE(seen_by_eye_alone(panels_of(maps), by_colour).empty());
}

TEST(WeighEye, ABordersWidthIsLeftToTheColours) {
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 80, 150, 150), by_colour(56, 76, 158, 158);
  lay(maps, panel, 0.97, 0.9);
  const auto left = weighed(filled(by_colour), maps, panels_of(maps), no_paper, 1);
  ASSERT_EQ(left.size(), 1u);
  EXPECT_EQ(cv::countNonZero(left[0] != filled(by_colour)), 0);
}

TEST(WeighEye, OnPaperTheNetworkDecidesAlone) {
  EyeMaps maps = bare_table();
  const cv::Rect panel(60, 80, 150, 150), sheet(180, 100, 120, 90);
  lay(maps, panel, 0.97, 0.9);
  const cv::Mat by_colour = filled(panel) & ~filled(sheet);  // what lies on paper is no colour of a panel's
  const auto left = weighed(by_colour, maps, panels_of(maps), filled(sheet), 1);
  ASSERT_EQ(left.size(), 1u);
  EXPECT_GT(shared(left[0], filled(panel)), nearly_all);
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
