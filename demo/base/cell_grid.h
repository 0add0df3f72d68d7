// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <vector>

#include "pipeline/geometry/polygon.h"

namespace chalkfold::demo {

/// Square cells over a box, each with the list of the items that come near it. Built once, then read by many threads.
class CellGrid {
 public:
  CellGrid() = default;
  /// One cell of margin is added round the box.
  CellGrid(const geometry::Box& box, double cell);

  /// Notes item `index` in all cells that the box touches; call build() after the last.
  void add(const geometry::Box& touched, int index);
  void build();

  int columns() const { return columns_; }
  int rows() const { return rows_; }
  double cell() const { return cell_; }
  Vec2 cell_centre(int column, int row) const { return origin_ + cell_ * Vec2(column + 0.5, row + 0.5); }

  /// Cell number of a point, or -1 outside the grid.
  int cell_of(const Vec2& p) const {
    const double x = (p.x() - origin_.x()) / cell_, y = (p.y() - origin_.y()) / cell_;
    if (!(x >= 0 && y >= 0 && x < columns_ && y < rows_)) return -1;
    return static_cast<int>(y) * columns_ + static_cast<int>(x);
  }
  std::span<const int> items(int cell_number) const {
    const auto c = static_cast<std::size_t>(cell_number);
    return {items_.data() + starts_[c], items_.data() + starts_[c + 1]};
  }
  /// Items of all cells that touch the box, each possibly several times.
  std::vector<int> items_in(const geometry::Box& box) const;

 private:
  struct CellRange {
    int column0, column1, row0, row1;
  };
  CellRange range_of(const geometry::Box& box) const;

  Vec2 origin_ = Vec2::Zero();
  double cell_ = 1;
  int columns_ = 0, rows_ = 0;
  /// cell, item
  std::vector<std::pair<int, int>> pending_;
  std::vector<int> starts_{0}, items_;
};

}  // namespace chalkfold::demo
