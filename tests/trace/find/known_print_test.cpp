// SPDX-License-Identifier: Apache-2.0
// Where paper lies and what is printed on it, against the board that OpenCV's own aruco module draws.
#include "pipeline/trace/find/known_print.h"

#include <gtest/gtest.h>

#include <opencv2/aruco/charuco.hpp>
#include <opencv2/imgproc.hpp>

#include "calib/sheet_layout.h"
#include "tests/trace/straight_view.h"

namespace chalkfold::trace {
namespace {

const cv::Size size(600, 500);  // px of 1 mm; the table's (0, 0) lies in the middle
const TableRaster raster{1.0, Vec2(-300, 250), size};

survey::TableView view_with(const survey::SheetPlace& sheet) {
  survey::TableView::Solution s = test::straight_above(size, 1);
  s.sheets.push_back(sheet);
  return survey::TableView(s);
}

TEST(KnownPrint, IsTheBoardThatOpenCvDraws) {
  constexpr int number = 3, fine = 4;  // px a mm
  const cv::Ptr<cv::aruco::CharucoBoard> board = cv::aruco::CharucoBoard::create(
      sheet::columns, sheet::rows, static_cast<float>(sheet::square), static_cast<float>(sheet::marker),
      cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000));
  for (std::size_t m = 0; m < board->ids.size(); ++m) board->ids[m] = sheet::marker_id(number, static_cast<int>(m));
  cv::Mat drawn;
  board->draw({fine * static_cast<int>(sheet::board_width), fine * static_cast<int>(sheet::board_height)}, drawn);
  cv::resize(drawn, drawn, {}, 1.0 / fine, 1.0 / fine, cv::INTER_AREA);
  const KnownPrint print = known_print(raster, {}, view_with({number, Vec2(20, -10), 0}), 0);
  // pixel (x, y) shows the table at (x - 300, 250 - y); the board's upper left corner lies at (20 - 90, -10 + 126)
  const cv::Mat ours = print.ink(cv::Rect(300 + 20 - 90, 250 + 10 - 126, drawn.cols, drawn.rows));
  cv::Mat difference;
  cv::absdiff(255 - drawn, ours, difference);
  // a raster's pixels lie half a pixel beside the page's: the borders of squares and cells differ, their insides do not
  EXPECT_LT(cv::mean(difference)[0], 20);
  cv::Mat inside;
  cv::morphologyEx(difference, inside, cv::MORPH_OPEN, cv::Mat::ones(3, 3, CV_8U));
  EXPECT_LT(cv::countNonZero(inside > 100), 20);
}

TEST(KnownPrint, CoversTheLargerOfBothPapersAndNothingElse) {
  const KnownPrint print = known_print(raster, {}, view_with({1, Vec2(0, 0), 0}), 0);
  constexpr double a4_long = 297, letter_wide = 215.9;  // ISO 216; ANSI/ASME Y14.1
  EXPECT_NEAR(cv::countNonZero(print.paper), (letter_wide + 4) * (a4_long + 4), 700);
  EXPECT_EQ(cv::countNonZero(print.ink & ~print.paper), 0);
}

TEST(KnownPrint, ATurnedSheetIsTurned) {
  const KnownPrint upright = known_print(raster, {}, view_with({1, Vec2(0, 0), 0}), 0);
  const KnownPrint turned = known_print(raster, {}, view_with({1, Vec2(0, 0), CV_PI / 2}), 0);
  EXPECT_GT(turned.paper.at<uchar>(250, 300 + 140), 0);
  EXPECT_EQ(turned.paper.at<uchar>(250 + 140, 300), 0);
  EXPECT_GT(upright.paper.at<uchar>(250 + 140, 300), 0);
}

TEST(KnownPrint, ATagsCardIsPaper) {
  capture::Sighting sighting;
  const survey::TableView view = view_with({1, Vec2(-150, 0), 0});
  capture::TagSighting tag;
  tag.number = 5;
  const Vec2 middle(150, 40);
  constexpr double half = sheet::tag_side / 2;
  const std::array corners{Vec2(-half, half), Vec2(half, half), Vec2(half, -half), Vec2(-half, -half)};
  for (std::size_t i = 0; i < corners.size(); ++i)
    tag.corners_in_photo[i] = view.photo_from_table(middle + corners[i], 0);
  sighting.tags.push_back(tag);
  const KnownPrint print = known_print(raster, sighting, view, 0);
  EXPECT_GT(print.paper.at<uchar>(250 - 40 + 28, 300 + 150 + 28), 0);
  EXPECT_EQ(print.ink.at<uchar>(250 - 40 + 28, 300 + 150 + 28), 0) << "the card's margin is white";
  EXPECT_GT(print.ink.at<uchar>(250 - 40 + 18, 300 + 150), 200) << "the marker's border is black";
}

}  // namespace
}  // namespace chalkfold::trace
