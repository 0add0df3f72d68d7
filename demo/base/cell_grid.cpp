// SPDX-License-Identifier: Apache-2.0
#include "demo/base/cell_grid.h"

#include <algorithm>
#include <cmath>

namespace chalkfold::demo {

CellGrid::CellGrid(const geometry::Box& box, double cell)
    : origin_(box.min - Vec2::Constant(cell)),
      cell_(cell),
      columns_(static_cast<int>(std::ceil(box.size().x() / cell)) + 2),
      rows_(static_cast<int>(std::ceil(box.size().y() / cell)) + 2) {}

CellGrid::CellRange CellGrid::range_of(const geometry::Box& box) const {
  const auto index = [&](double v, double from, int count) {
    return static_cast<int>(std::clamp(std::floor((v - from) / cell_), 0.0, count - 1.0));
  };
  return {index(box.min.x(), origin_.x(), columns_), index(box.max.x(), origin_.x(), columns_),
          index(box.min.y(), origin_.y(), rows_), index(box.max.y(), origin_.y(), rows_)};
}

void CellGrid::add(const geometry::Box& touched, int index) {
  const CellRange range = range_of(touched);
  for (int row = range.row0; row <= range.row1; ++row) {
    for (int column = range.column0; column <= range.column1; ++column)
      pending_.emplace_back(row * columns_ + column, index);
  }
}

void CellGrid::build() {
  std::sort(pending_.begin(), pending_.end());
  starts_.assign(static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows_) + 1, 0);
  items_.clear();
  items_.reserve(pending_.size());
  for (const auto& [cell, item] : pending_) {
    ++starts_[static_cast<std::size_t>(cell) + 1];
    items_.push_back(item);
  }
  for (std::size_t i = 1; i < starts_.size(); ++i) starts_[i] += starts_[i - 1];
  pending_ = {};
}

std::vector<int> CellGrid::items_in(const geometry::Box& box) const {
  std::vector<int> out;
  const CellRange range = range_of(box);
  for (int row = range.row0; row <= range.row1; ++row) {
    for (int column = range.column0; column <= range.column1; ++column) {
      const auto found = items(row * columns_ + column);
      out.insert(out.end(), found.begin(), found.end());
    }
  }
  return out;
}

}  // namespace chalkfold::demo
