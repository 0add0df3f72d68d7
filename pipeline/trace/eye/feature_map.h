// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cstddef>
#include <memory>
#include <utility>
#include <vector>

namespace chalkfold::trace {

/// What goes from layer to layer: height x width px, the channels of a pixel side by side, with a border of zeros all round that filters may read.
class FeatureMap {
 public:
  /// px: filters are 5 px wide at most
  static constexpr int border = 2;

  FeatureMap() = default;
  /// Not filled, but for the border.
  FeatureMap(int height, int width, int channels) : FeatureMap(height, width, channels, FeatureMap()) {}
  /// The same in the memory of a map that is no longer needed, if it suffices.
  FeatureMap(int height, int width, int channels, FeatureMap spare)
      : height_(height),
        width_(width),
        channels_(channels),
        row_step_(std::ptrdiff_t{width + 2 * border} * channels),
        capacity_(spare.capacity_),
        data_(std::move(spare.data_)) {
    const std::size_t count = floats(height, width, channels);
    if (capacity_ < count) {
      data_ = std::make_unique_for_overwrite<float[]>(count);
      capacity_ = count;
    }
    const std::ptrdiff_t side = std::ptrdiff_t{border} * channels;
    for (int y = -border; y < height + border; ++y) {
      float* left = row(y) - side;
      if (y < 0 || y >= height) {
        std::fill_n(left, row_step_, 0.0F);
      } else {
        std::fill_n(left, side, 0.0F);
        std::fill_n(left + row_step_ - side, side, 0.0F);
      }
    }
  }

  /// Floats that a map of this size takes, and those that there is room for.
  static std::size_t floats(int height, int width, int channels) {
    return static_cast<std::size_t>(height + 2 * border) * static_cast<std::size_t>(width + 2 * border) *
           static_cast<std::size_t>(channels);
  }
  std::size_t capacity() const { return capacity_; }

  int height() const { return height_; }
  int width() const { return width_; }
  int channels() const { return channels_; }
  /// Floats from a row to the next.
  std::ptrdiff_t row_step() const { return row_step_; }
  /// The first pixel of row -border to height + border - 1.
  float* row(int y) { return data_.get() + (y + border) * row_step_ + std::ptrdiff_t{border} * channels_; }
  const float* row(int y) const { return const_cast<FeatureMap*>(this)->row(y); }

 private:
  int height_ = 0, width_ = 0, channels_ = 0;
  std::ptrdiff_t row_step_ = 0;
  std::size_t capacity_ = 0;
  std::unique_ptr<float[]> data_;
};

/// Memory that goes from map to map: asking the system for it anew costs as much as a layer.
class MapStore {
 public:
  FeatureMap map(int height, int width, int channels) {
    // The smallest that suffices.
    auto best = spare_.end();
    const std::size_t needed = FeatureMap::floats(height, width, channels);
    for (auto it = spare_.begin(); it != spare_.end(); ++it)
      if (it->capacity() >= needed && (best == spare_.end() || it->capacity() < best->capacity())) best = it;
    if (best == spare_.end()) return {height, width, channels};
    FeatureMap found = std::move(*best);
    spare_.erase(best);
    return {height, width, channels, std::move(found)};
  }
  void give_back(FeatureMap map) { spare_.push_back(std::move(map)); }

 private:
  std::vector<FeatureMap> spare_;
};

}  // namespace chalkfold::trace
