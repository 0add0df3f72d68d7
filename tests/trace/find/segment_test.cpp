// SPDX-License-Identifier: Apache-2.0
// Panels told from a table that lies half in shadow.
#include "pipeline/trace/find/segment.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "pipeline/geometry/polygon.h"
#include "tests/trace/straight_view.h"

namespace chalkfold::trace {
namespace {

// a coarse outline is good to a millimetre or two: 2 mm all round is 3 % of the area
constexpr double area_share = 0.04;

Segmentation segmented(const cv::Mat& bgr, const survey::TableView& view, const TraceOptions& options) {
  capture::Photo photo;
  photo.bgr = bgr;
  return segment_panels(photo, capture::Sighting{}, view, options, {});
}

/// A table of one colour with the sheet of view_with_sheet: its paper is what everything is measured by.
cv::Mat table_with_sheet(const cv::Scalar& colour) {
  cv::Mat photo(900, 1200, CV_8UC3, colour);
  cv::rectangle(photo, {95, 301, 210, 297}, cv::Scalar::all(235), cv::FILLED);
  return photo;
}

/// 1 px per mm, with one sheet at the left.
survey::TableView view_with_sheet() {
  survey::TableView::Solution s = test::straight_above({1200, 900}, 1);
  s.sheets.push_back(survey::SheetPlace{1, Vec2(-400, 0), 0});
  return survey::TableView(s);
}

TEST(SegmentPanels, AShadowOverHalfTheTableIsNoPanel) {
  // The rings about the sheet show the lit table only; the shadow runs off the picture on three sides, and over most of the panel.
  constexpr double dimmed = 0.7;  // of the coded value: some half of the light
  constexpr int panel_width = 400, panel_height = 300;
  cv::Mat photo = table_with_sheet(cv::Scalar(190, 190, 190));
  cv::rectangle(photo, {550, 300, panel_width, panel_height}, cv::Scalar(60, 40, 140), cv::FILLED);
  cv::Mat right = photo(cv::Rect(650, 0, 550, 900));
  right.convertTo(right, -1, dimmed);
  cv::GaussianBlur(photo, photo, {}, 1);
  const Segmentation found = segmented(photo, view_with_sheet(), {});
  ASSERT_EQ(found.panels.size(), 1u);
  EXPECT_FALSE(found.panels[0].cut_by_frame);
  const double true_area = panel_width * panel_height;
  EXPECT_NEAR(geometry::signed_area(found.panels[0].outline), true_area, area_share * true_area);
}

TEST(SegmentPanels, ADarkPanelOnADarkTableIsOnePanel) {
  // Black vinyl on slate: brightness varies slowly over the panel, and parts of it are hardly darker than the table.
  constexpr int panel_width = 400, panel_height = 300, wave = 200;  // px, of 1 mm
  constexpr double darker = 6;                                      // codes
  cv::Mat photo = table_with_sheet(cv::Scalar(61, 59, 58));
  for (int y = 300; y < 300 + panel_height; ++y) {
    for (int x = 550; x < 550 + panel_width; ++x) {
      const double v = darker * std::sin(2.0 * CV_PI * x / wave) * std::sin(2.0 * CV_PI * y / wave);
      photo.at<cv::Vec3b>(y, x) = {cv::saturate_cast<uchar>(47 + v), cv::saturate_cast<uchar>(44 + v),
                                   cv::saturate_cast<uchar>(41 + v)};
    }
  }
  cv::GaussianBlur(photo, photo, {}, 1);
  const Segmentation found = segmented(photo, view_with_sheet(), {});
  ASSERT_EQ(found.panels.size(), 1u);
  const double true_area = panel_width * panel_height;
  EXPECT_NEAR(geometry::signed_area(found.panels[0].outline), true_area, area_share * true_area);
}

TEST(SegmentPanels, TwoPanelsThatLieCloseTogetherAreTwo) {
  constexpr int gap = 10;  // mm, at one corner: over less, a pattern may repeat
  cv::Mat photo = table_with_sheet(cv::Scalar(52, 54, 58));
  const cv::Scalar pale(215, 220, 224);
  cv::rectangle(photo, {500, 300, 200, 300}, pale, cv::FILLED);
  const std::vector<cv::Point> leaning = {{700 + gap, 590}, {800, 350}, {1050, 400}, {1000, 700}, {760, 700}};
  cv::fillConvexPoly(photo, leaning, pale, cv::LINE_AA);
  cv::GaussianBlur(photo, photo, {}, 1);
  const Segmentation found = segmented(photo, view_with_sheet(), {});
  ASSERT_EQ(found.panels.size(), 2u);
  std::vector<double> areas;
  for (const CoarsePanel& panel : found.panels) {
    EXPECT_FALSE(panel.busy) << "its colour shows it";
    areas.push_back(geometry::signed_area(panel.outline));
  }
  std::sort(areas.begin(), areas.end());
  EXPECT_NEAR(areas[0], 200 * 300, area_share * 200 * 300);
  EXPECT_NEAR(areas[1], cv::contourArea(leaning), area_share * cv::contourArea(leaning));
}

TEST(SegmentPanels, ScissorsAreNoPanelThoughTheFiltersCloseTheirHandles) {
  constexpr int grip = 9;  // mm, of handles with holes of 26 x 16 mm
  cv::Mat photo = table_with_sheet(cv::Scalar(180, 190, 200));
  const cv::Scalar black(45, 42, 40);
  cv::ellipse(photo, {700, 500}, {18, 13}, 30, 0, 360, black, grip, cv::LINE_AA);
  cv::ellipse(photo, {735, 465}, {18, 13}, 60, 0, 360, black, grip, cv::LINE_AA);
  cv::line(photo, {690, 483}, {680, 450}, black, grip, cv::LINE_AA);
  cv::line(photo, {717, 455}, {680, 450}, black, grip, cv::LINE_AA);
  cv::GaussianBlur(photo, photo, {}, 1);
  TraceOptions coarse;
  coarse.coarse_mm_per_px = 1.8;  // as a photo of a wide table has it
  EXPECT_TRUE(segmented(photo, view_with_sheet(), coarse).panels.empty());
}

TEST(SegmentPanels, APanelThatRunsOffThePictureIsNoShadow) {
  cv::Mat photo = table_with_sheet(cv::Scalar(190, 190, 190));
  cv::rectangle(photo, {700, 200, 500, 500}, cv::Scalar(130, 130, 130), cv::FILLED);  // grey, as a shadow is
  const Segmentation found = segmented(photo, view_with_sheet(), {});
  ASSERT_EQ(found.panels.size(), 1u);
  EXPECT_TRUE(found.panels[0].cut_by_frame);
}

}  // namespace
}  // namespace chalkfold::trace
