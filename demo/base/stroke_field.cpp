// SPDX-License-Identifier: Apache-2.0
#include "demo/base/stroke_field.h"

#include <algorithm>
#include <cmath>

#include "pipeline/geometry/segment.h"

namespace chalkfold::demo {

StrokeField::StrokeField(std::vector<Stroke> strokes, double margin) : strokes_(std::move(strokes)) {
  if (strokes_.empty()) return;
  std::vector<geometry::Box> boxes;
  for (const Stroke& s : strokes_) {
    geometry::Box box;
    box.add(s.a);
    box.add(s.b);
    box.min -= Vec2::Constant(s.half_width + margin);
    box.max += Vec2::Constant(s.half_width + margin);
    box_.add(box.min);
    box_.add(box.max);
    boxes.push_back(box);
  }
  constexpr double cell_mm = 3.0;
  grid_ = CellGrid(box_, cell_mm);
  for (std::size_t i = 0; i < boxes.size(); ++i) grid_.add(boxes[i], static_cast<int>(i));
  grid_.build();
}

StrokeField::Nearest StrokeField::nearest(const Vec2& p) const {
  Nearest best;
  if (strokes_.empty()) return best;
  const int cell = grid_.cell_of(p);
  if (cell < 0) return best;
  for (const int i : grid_.items(cell)) {
    const Stroke& s = strokes_[static_cast<std::size_t>(i)];
    const double gap = geometry::distance_to_segment(p, s.a, s.b) - s.half_width;
    if (gap >= best.gap) continue;
    const Vec2 d = s.b - s.a, from = p - s.a;
    best = {gap, s.tag, s.half_width, std::copysign(gap + s.half_width, d.x() * from.y() - d.y() * from.x())};
  }
  return best;
}

void add_strokes(std::vector<StrokeField::Stroke>& to, const Polyline& line, double half_width, int tag) {
  for (std::size_t i = 1; i < line.size(); ++i) to.push_back({line[i - 1], line[i], half_width, tag});
}

}  // namespace chalkfold::demo
