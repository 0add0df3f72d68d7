// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/segment.h"

#include <cmath>
#include <stdexcept>

namespace chalkfold::geometry {

LinePlace nearest_on_line(const Polyline& line, const Vec2& p, bool closed) {
  if (line.empty()) throw std::logic_error("nearest place on a line of no points");
  LinePlace best{line[0], 0, 0, 0};
  double least = (line[0] - p).squaredNorm(), before = 0;
  for (std::size_t i = 0; i + (closed ? 0 : 1) < line.size(); ++i) {
    const Vec2 &a = line[i], &b = line[(i + 1) % line.size()];
    const SegmentPlace place = nearest_on_segment(p, a, b);
    const double away = (place.point - p).squaredNorm(), whole = (b - a).norm();
    if (away < least) {
      least = away;
      best = {place.point, before + place.share * whole, 0, i};
    }
    before += whole;
  }
  best.distance = std::sqrt(least);
  return best;
}

}  // namespace chalkfold::geometry
