// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "demo/base/cell_grid.h"

namespace chalkfold::demo {

/// Thin strokes (chalk, threads, needle holes, print): stretches with a half width, prepared for "what lies here?".
class StrokeField {
 public:
  struct Stroke {
    Vec2 a = Vec2::Zero(), b = Vec2::Zero();
    /// mm
    double half_width = 0.5;
    /// the caller's, e.g. an index of colours
    int tag = 0;
  };

  StrokeField() = default;
  /// `margin` (mm): nearest() sees strokes whose border is at most this far away.
  StrokeField(std::vector<Stroke> strokes, double margin);

  bool empty() const { return strokes_.empty(); }
  /// with margin
  const geometry::Box& box() const { return box_; }

  struct Nearest {
    /// to the stroke's border, negative inside
    double gap = 1e9;
    int tag = 0;
    double half_width = 0;
    /// of the point from the stroke's middle line, mm, positive on its left
    double across = 0;
  };
  /// The stroke whose border is nearest, or gap 1e9 when none is within the margin.
  Nearest nearest(const Vec2& p) const;

 private:
  std::vector<Stroke> strokes_;
  geometry::Box box_;
  CellGrid grid_;
};

/// Strokes along a polyline.
void add_strokes(std::vector<StrokeField::Stroke>& to, const Polyline& line, double half_width, int tag);

}  // namespace chalkfold::demo
