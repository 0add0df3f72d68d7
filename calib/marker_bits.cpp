// SPDX-License-Identifier: Apache-2.0
#include "calib/marker_bits.h"

#include <array>
#include <cstdint>
#include <string>

#include "calib/sheet_layout.h"
#include "pipeline/common/require.h"

namespace chalkfold::calib {

namespace {
constexpr int sheet_ids = sheet::sheets_max * sheet::markers_per_sheet;
constexpr std::array<std::uint32_t, sheet_ids + sheet::tags_max> white_cells = {
#include "calib/dict_5x5_1000.inc"
};

std::uint32_t white_cells_of(int id) {
  if (sheet::sheet_of_marker(id) > 0) return white_cells[static_cast<std::size_t>(id)];
  const int tag = sheet::tag_of_marker(id);
  if (tag > 0) return white_cells[static_cast<std::size_t>(sheet_ids + tag - 1)];
  throw PreconditionError("marker id " + std::to_string(id) + " is on no sheet and no tag");
}
}  // namespace

bool is_marker_cell_black(int id, int column, int row) {
  const std::uint32_t white = white_cells_of(id);
  require_within("column of the marker's cell", column, 0, marker_cells - 1);
  require_within("row of the marker's cell", row, 0, marker_cells - 1);
  const int x = column - 1, y = row - 1;
  if (x < 0 || x >= marker_data_cells || y < 0 || y >= marker_data_cells) return true;
  // Row by row from the top left, the first cell in the highest of 25 bits.
  const int bit = marker_data_cells * marker_data_cells - 1 - (y * marker_data_cells + x);
  return (white >> bit & 1U) == 0;
}

}  // namespace chalkfold::calib
