// SPDX-License-Identifier: Apache-2.0
#include "calib/sheet_layout.h"

#include <stdexcept>

#include "pipeline/common/require.h"

namespace chalkfold::sheet {

Vec2 corner(int k) {
  require_within("corner of a sheet", k, 0, corners_per_sheet - 1);
  const int column = k % (columns - 1) + 1, row = k / (columns - 1) + 1;
  return {column * square - board_width / 2, board_height / 2 - row * square};
}

std::array<int, 2> marker_square(int m) {
  require_within("marker of a sheet", m, 0, markers_per_sheet - 1);
  // The white squares, row by row: even rows hold columns 1 and 3, odd rows columns 0, 2 and 4.
  for (int row = 0, seen = 0; row < rows; ++row) {
    for (int column = 0; column < columns; ++column) {
      if (!is_black(column, row) && seen++ == m) return {column, row};
    }
  }
  throw std::logic_error("unreachable: 17 white squares");
}

std::array<Vec2, 4> marker_corners(int m) {
  const auto [column, row] = marker_square(m);
  const Vec2 centre((column + 0.5) * square - board_width / 2, board_height / 2 - (row + 0.5) * square);
  const double h = marker / 2;
  return {centre + Vec2(-h, h), centre + Vec2(h, h), centre + Vec2(h, -h), centre + Vec2(-h, -h)};
}

}  // namespace chalkfold::sheet
