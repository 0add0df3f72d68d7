// SPDX-License-Identifier: Apache-2.0
#include "calib/sheet_layout.h"

#include <gtest/gtest.h>

#include <opencv2/aruco/charuco.hpp>
#include <set>
#include <stdexcept>

#include "pipeline/geometry/polygon.h"

namespace chalkfold::sheet {
namespace {

constexpr double float_rounding_mm = 1e-4;  // OpenCV keeps board places as float: 1e-5 mm at 252 mm

/// OpenCV's board, with metres for our mm.
cv::Ptr<cv::aruco::CharucoBoard> board_of_opencv() {
  return cv::aruco::CharucoBoard::create(columns, rows, square, marker,
                                         cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000));
}

/// Its frame starts at the board's top left, y down the page.
Vec2 sheet_from_opencv(const cv::Point3f& p) {
  return geometry::y_down_from_y_up({p.x - board_width / 2, p.y}, board_height / 2);
}

TEST(SheetLayout, CornersAreThoseOfOpenCvsBoard) {
  const auto board = board_of_opencv();
  ASSERT_EQ(board->chessboardCorners.size(), static_cast<std::size_t>(corners_per_sheet));
  for (int k = 0; k < corners_per_sheet; ++k) {
    const Vec2 theirs = sheet_from_opencv(board->chessboardCorners[static_cast<std::size_t>(k)]);
    EXPECT_LT((corner(k) - theirs).norm(), float_rounding_mm) << "corner " << k << " at " << corner(k).transpose();
  }
}

TEST(SheetLayout, MarkersAreThoseOfOpenCvsBoard) {
  const auto board = board_of_opencv();
  ASSERT_EQ(board->ids.size(), static_cast<std::size_t>(markers_per_sheet));
  for (std::size_t m = 0; m < board->ids.size(); ++m) {
    EXPECT_EQ(board->ids[m], static_cast<int>(m));
    for (std::size_t c = 0; c < 4; ++c) {
      const Vec2 ours = marker_corners(static_cast<int>(m))[c], theirs = sheet_from_opencv(board->objPoints[m][c]);
      EXPECT_LT((ours - theirs).norm(), float_rounding_mm)
          << "marker " << m << " corner " << c << " at " << ours.transpose();
    }
  }
}

TEST(SheetLayout, StandsUprightAroundItsCentre) {
  EXPECT_EQ(corner(0), Vec2(-54, 90)) << "y up the page";
  EXPECT_EQ(corner(23), Vec2(54, -90));
  Vec2 sum = Vec2::Zero();
  for (int k = 0; k < corners_per_sheet; ++k) sum += corner(k);
  EXPECT_EQ(sum, Vec2(0, 0));
  EXPECT_TRUE(is_black(0, 0));
}

TEST(SheetLayout, MarkersLieInTheMiddleOfWhiteSquares) {
  std::set<std::array<int, 2>> taken;
  for (int m = 0; m < markers_per_sheet; ++m) {
    const auto [column, row] = marker_square(m);
    EXPECT_FALSE(is_black(column, row)) << "marker " << m;
    taken.insert({column, row});
  }
  EXPECT_EQ(taken.size(), static_cast<std::size_t>(markers_per_sheet));
}

TEST(SheetLayout, EveryMarkerIdBelongsToOneSheetOrOneTagOrNone) {
  std::set<int> ids;
  for (int number = 1; number <= sheets_max; ++number) {
    for (int m = 0; m < markers_per_sheet; ++m) {
      const int id = marker_id(number, m);
      EXPECT_TRUE(ids.insert(id).second) << id;
      EXPECT_EQ(sheet_of_marker(id), number);
      EXPECT_EQ(tag_of_marker(id), 0);
    }
  }
  for (int tag = 1; tag <= tags_max; ++tag) {
    EXPECT_TRUE(ids.insert(tag_first_id + tag).second) << tag;
    EXPECT_EQ(tag_of_marker(tag_first_id + tag), tag);
    EXPECT_EQ(sheet_of_marker(tag_first_id + tag), 0);
  }
  for (const int stranger : {-1, 340, 899, 900, 1000}) {
    EXPECT_EQ(sheet_of_marker(stranger), 0) << stranger;
    EXPECT_EQ(tag_of_marker(stranger), 0) << stranger;
  }
}

TEST(SheetLayout, RefusesWhatIsNotOnASheet) {
  for (const int k : {-1, corners_per_sheet}) EXPECT_THROW(corner(k), std::logic_error);
  for (const int m : {-1, markers_per_sheet}) {
    EXPECT_THROW(marker_square(m), std::logic_error);
    EXPECT_THROW(marker_corners(m), std::logic_error);
  }
}

}  // namespace
}  // namespace chalkfold::sheet
