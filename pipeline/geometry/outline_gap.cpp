// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/outline_gap.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <polyclipping/clipper.hpp>

#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/segment.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

constexpr double grid = 1e4;  // Clipper counts in whole numbers: 0.1 um

ClipperLib::Path path_of(const Polyline& closed) {
  ClipperLib::Path path;
  path.reserve(closed.size());
  for (const Vec2& p : closed) path.emplace_back(std::llround(p.x() * grid), std::llround(p.y() * grid));
  if (!ClipperLib::Orientation(path)) ClipperLib::ReversePath(path);
  return path;
}

Polyline polyline_of(const ClipperLib::Path& path) {
  Polyline line;
  line.reserve(path.size());
  for (const ClipperLib::IntPoint& p : path)
    line.emplace_back(static_cast<double>(p.X) / grid, static_cast<double>(p.Y) / grid);
  return line;
}

bool stretches_cross(const Vec2& a, const Vec2& b, const Vec2& c, const Vec2& d) {
  const double side_c = cross(b - a, c - a), side_d = cross(b - a, d - a);
  const double side_a = cross(d - c, a - c), side_b = cross(d - c, b - c);
  return side_c * side_d < 0 && side_a * side_b < 0;
}

double between_stretches(const Vec2& a, const Vec2& b, const Vec2& c, const Vec2& d) {
  if (stretches_cross(a, b, c, d)) return 0;
  return std::min({distance_to_segment(a, c, d), distance_to_segment(b, c, d), distance_to_segment(c, a, b),
                   distance_to_segment(d, a, b)});
}

/// How far two boxes are apart; 0 when they meet.
double between_boxes(const Box& a, const Box& b) {
  return (a.min - b.max).cwiseMax(b.min - a.max).cwiseMax(Vec2::Zero()).norm();
}

Box box_of(const Vec2& a, const Vec2& b) { return {a.cwiseMin(b), a.cwiseMax(b)}; }

/// Marks which points between `first` and `last` stay.
void keep_points(const Polyline& line, std::size_t first, std::size_t last, double slack, std::vector<bool>& kept) {
  double worst = slack;
  std::size_t at = first;
  for (std::size_t i = first + 1; i < last; ++i) {
    const double off = distance_to_segment(line[i], line[first], line[last]);
    if (off > worst) {
      worst = off;
      at = i;
    }
  }
  if (at == first) return;
  kept[at] = true;
  keep_points(line, first, at, slack, kept);
  keep_points(line, at, last, slack, kept);
}

Polyline with_few_points(const Polyline& closed, double slack) {
  if (closed.size() < 4) return closed;
  std::size_t far = 0;  // from the first point: the two ends of the halves
  for (std::size_t i = 0; i < closed.size(); ++i)
    if ((closed[i] - closed[0]).squaredNorm() > (closed[far] - closed[0]).squaredNorm()) far = i;
  Polyline line = closed;
  line.push_back(closed.front());
  std::vector<bool> kept(line.size(), false);
  kept.front() = kept[far] = true;
  keep_points(line, 0, far, slack, kept);
  keep_points(line, far, line.size() - 1, slack, kept);
  Polyline few;
  for (std::size_t i = 0; i < closed.size(); ++i)
    if (kept[i]) few.push_back(closed[i]);
  return few;
}

}  // namespace

double gap_between(const Polyline& a, const Polyline& b) {
  require_at_least("points of the first", a.size(), 1);
  require_at_least("points of the second", b.size(), 1);
  double gap = std::numeric_limits<double>::infinity();
  const Box box_b = bounding_box(b);
  for (std::size_t i = 0; i < a.size(); ++i) {
    const Vec2 &a1 = a[i], &a2 = a[(i + 1) % a.size()];
    const Box box = box_of(a1, a2);
    if (between_boxes(box, box_b) >= gap) continue;
    for (std::size_t k = 0; k < b.size(); ++k) {
      const Vec2 &b1 = b[k], &b2 = b[(k + 1) % b.size()];
      if (between_boxes(box, box_of(b1, b2)) < gap) gap = std::min(gap, between_stretches(a1, a2, b1, b2));
    }
  }
  return gap;
}

Polyline grown_outline(const Polyline& closed, double by, double slack) {
  require_at_least("points of the outline", closed.size(), 3);
  require_at_least("growth, mm,", by, 0);
  require_above("slack, mm,", slack, 0);
  constexpr double mitre = 2;  // of the offset; a sharper corner is cut square
  ClipperLib::ClipperOffset offset(mitre);
  offset.AddPath(path_of(closed), ClipperLib::jtMiter, ClipperLib::etClosedPolygon);
  ClipperLib::Paths grown;
  offset.Execute(grown, (by + slack) * grid);
  const auto whole = std::max_element(grown.begin(), grown.end(), [](const auto& a, const auto& b) {
    return ClipperLib::Area(a) < ClipperLib::Area(b);
  });
  return whole == grown.end() ? closed : with_few_points(polyline_of(*whole), slack);
}

}  // namespace chalkfold::geometry
