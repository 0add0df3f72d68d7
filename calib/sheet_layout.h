// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>

#include "pipeline/geometry/point.h"

namespace chalkfold::sheet {

// The calibration sheet: a ChArUco board, 5 columns x 7 rows, dictionary DICT_5X5_1000, top-left square black.
// Sheet frame: mm, origin at the board's centre, x right, y UP the page (OpenCV 4.6 draws its board with y down).
inline constexpr int columns = 5;
inline constexpr int rows = 7;
inline constexpr double square = 36.0;
inline constexpr double marker = 26.0;
/// sheet numbers run 1..20
inline constexpr int sheets_max = 20;
/// the white squares, row by row from the top left
inline constexpr int markers_per_sheet = 17;
inline constexpr int corners_per_sheet = (columns - 1) * (rows - 1);
/// 180
inline constexpr double board_width = columns * square;
/// 252
inline constexpr double board_height = rows * square;
/// check bar along the page's long side (y)
inline constexpr double long_bar = 240.0;
/// check bar along the page's short side (x)
inline constexpr double short_bar = 170.0;

// Tags: a single marker on a card, laid by a panel to name it.
/// tag numbers run 1..99
inline constexpr int tags_max = 99;
/// tag m carries marker id 900 + m
inline constexpr int tag_first_id = 900;
inline constexpr double tag_side = 40.0;
inline constexpr double tag_card = 60.0;

/// Inner corner k (0..23), row by row from the top left of the page, in the sheet frame. Precondition: k is one.
Vec2 corner(int k);

/// Precondition of the next two: m is one of the sheet's markers.
/// Corners of marker m (0..16) of a sheet in the sheet frame, in ArUco's order: top left, top right, bottom right, bottom left.
std::array<Vec2, 4> marker_corners(int m);

/// Column and row (from the top left, 0-based) of marker m's square.
std::array<int, 2> marker_square(int m);

/// Marker id of marker m on sheet n: 17 (n - 1) + m.
inline int marker_id(int sheet_number, int m) { return markers_per_sheet * (sheet_number - 1) + m; }

/// Sheet number (1..20) of a marker id, or 0 when the id belongs to no sheet.
inline int sheet_of_marker(int id) {
  return id >= 0 && id < markers_per_sheet * sheets_max ? id / markers_per_sheet + 1 : 0;
}

/// Tag number (1..99) of a marker id, or 0.
inline int tag_of_marker(int id) { return id > tag_first_id && id <= tag_first_id + tags_max ? id - tag_first_id : 0; }

/// True when the square in this column and row (from the top left, 0-based) is black.
inline bool is_black(int column, int row) { return (column + row) % 2 == 0; }

}  // namespace chalkfold::sheet
