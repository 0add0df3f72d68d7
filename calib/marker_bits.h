// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace chalkfold::calib {

/// data cells along a marker's side
inline constexpr int marker_data_cells = 5;
/// with the black border, one cell wide all round
inline constexpr int marker_cells = marker_data_cells + 2;

/// True when this cell of a DICT_5X5_1000 marker is black. Column and row run 0..6 from the top left of the upright
/// marker; the border cells are always black. Known ids: those of the sheets (0..339) and of the tags (901..999); for
/// any other id, or a cell outside the marker, throws std::logic_error.
bool is_marker_cell_black(int id, int column, int row);

}  // namespace chalkfold::calib
