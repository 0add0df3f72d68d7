// SPDX-License-Identifier: Apache-2.0
#include "calib/marker_bits.h"

#include <gtest/gtest.h>

#include <opencv2/aruco/dictionary.hpp>
#include <stdexcept>

#include "calib/sheet_layout.h"

namespace chalkfold::calib {
namespace {

TEST(MarkerBits, AreThoseOfOpenCvsDictionaryCellByCell) {
  const auto dictionary = cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000);
  int markers = 0;
  for (int id = 0; id < 1000; ++id) {
    if (sheet::sheet_of_marker(id) == 0 && sheet::tag_of_marker(id) == 0) continue;
    ++markers;
    cv::Mat one_pixel_a_cell;
    dictionary->drawMarker(id, marker_cells, one_pixel_a_cell, 1);
    for (int row = 0; row < marker_cells; ++row) {
      for (int column = 0; column < marker_cells; ++column) {
        EXPECT_EQ(is_marker_cell_black(id, column, row), one_pixel_a_cell.at<unsigned char>(row, column) == 0)
            << "marker " << id << " column " << column << " row " << row;
      }
    }
  }
  EXPECT_EQ(markers, 439);
}

TEST(MarkerBits, RefuseAMarkerThatIsOnNoPage) {
  for (const int id : {-1, 340, 900, 1000}) EXPECT_THROW(is_marker_cell_black(id, 0, 0), std::logic_error) << id;
  EXPECT_THROW(is_marker_cell_black(0, marker_cells, 0), std::logic_error);
  EXPECT_THROW(is_marker_cell_black(0, 0, -1), std::logic_error);
}

}  // namespace
}  // namespace chalkfold::calib
