// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/smallest_rectangle.h"

#include <algorithm>
#include <utility>

#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {

namespace {
constexpr double equal = 1 - 1e-9;  // share: rounding does not choose between two sides of a rectangle

/// One side of the hull: points in rising order that turn to the left.
void add_chain(const Polyline& ordered, Polyline& hull) {
  const std::size_t floor = hull.size();
  for (const Vec2& p : ordered) {
    while (hull.size() >= floor + 2 && cross(hull.back() - hull[hull.size() - 2], p - hull.back()) <= 0)
      hull.pop_back();
    hull.push_back(p);
  }
  hull.pop_back();  // it starts the next chain
}
}  // namespace

Polyline convex_hull(Polyline points) {
  std::sort(points.begin(), points.end(),
            [](const Vec2& a, const Vec2& b) { return a.x() != b.x() ? a.x() < b.x() : a.y() < b.y(); });
  points.erase(std::unique(points.begin(), points.end()), points.end());
  if (points.size() < 3) return points;
  Polyline hull;
  add_chain(points, hull);
  std::reverse(points.begin(), points.end());
  add_chain(points, hull);
  return hull;
}

TurnedRectangle smallest_rectangle(const Polyline& points) {
  const Polyline hull = convex_hull(points);
  require_at_least("corners of the points' hull", hull.size(), 3);
  TurnedRectangle best;
  double least = 1e300;
  for (std::size_t i = 0; i < hull.size(); ++i) {
    const Vec2 u = (hull[(i + 1) % hull.size()] - hull[i]).normalized(), v = left_of(u);
    Box box;
    for (const Vec2& p : hull) box.add({u.dot(p), v.dot(p)});
    if (box.size().prod() >= equal * least) continue;
    least = box.size().prod();
    const Vec2 middle = box.centre().x() * u + box.centre().y() * v;
    best = box.size().x() >= equal * box.size().y() ? TurnedRectangle{middle, u, box.size().x(), box.size().y()}
                                                    : TurnedRectangle{middle, v, box.size().y(), box.size().x()};
  }
  if (best.length < best.width) std::swap(best.length, best.width);
  return best;
}

}  // namespace chalkfold::geometry
