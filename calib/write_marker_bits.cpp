// SPDX-License-Identifier: Apache-2.0
// Prints calib/dict_5x5_1000.inc from OpenCV's own dictionary, so that the program that prints sheets need not link
// OpenCV. Run by hand: build target `marker_bits`.
#include <fmt/format.h>

#include <cstdint>
#include <opencv2/aruco/dictionary.hpp>

#include "calib/sheet_layout.h"

namespace {
std::uint32_t white_cells_of(const cv::aruco::Dictionary& dictionary, int id) {
  const cv::Mat bits =
      cv::aruco::Dictionary::getBitsFromByteList(dictionary.bytesList.rowRange(id, id + 1), dictionary.markerSize);
  std::uint32_t white = 0;
  for (int row = 0; row < bits.rows; ++row) {
    for (int column = 0; column < bits.cols; ++column)
      white = white << 1 | (bits.at<unsigned char>(row, column) ? 1U : 0U);
  }
  return white;
}
}  // namespace

int main() {
  const auto dictionary = cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000);
  fmt::print(
      "// SPDX-License-Identifier: Apache-2.0\n"
      "// Written by calib/write_marker_bits.cpp; do not edit. Source: the predefined dictionary DICT_5X5_1000 of "
      "OpenCV's aruco\n"
      "// module (Apache-2.0). White cells of markers 0..339 (sheets), then 901..999 (tags): 25 bits, row by row from "
      "the top\n"
      "// left, first cell highest, 1 = white.\n");
  int in_line = 0;
  for (int id = 0; id <= chalkfold::sheet::tag_first_id + chalkfold::sheet::tags_max; ++id) {
    if (chalkfold::sheet::sheet_of_marker(id) == 0 && chalkfold::sheet::tag_of_marker(id) == 0) continue;
    in_line = in_line % 10 + 1;
    fmt::print("0x{:07x},{}", white_cells_of(*dictionary, id), in_line == 10 ? "\n" : " ");
  }
  if (in_line != 10) fmt::print("\n");
}
