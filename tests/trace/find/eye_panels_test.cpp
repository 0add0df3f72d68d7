// SPDX-License-Identifier: Apache-2.0
// Panels out of made-up maps of the network: what is one, what is two, what is none.
#include "pipeline/trace/find/eye_panels.h"

#include <gtest/gtest.h>

#include "pipeline/trace/find/weigh_eye.h"
#include "tests/trace/find/drawn_maps.h"

namespace chalkfold::trace {
namespace {

using namespace test;

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

}  // namespace
}  // namespace chalkfold::trace
