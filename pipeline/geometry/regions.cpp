// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/regions.h"

#include <algorithm>
#include <cmath>
#include <polyclipping/clipper.hpp>

#include "pipeline/geometry/polygon.h"

namespace chalkfold {
namespace {

constexpr double grid = 1e4;  // to the mm: Clipper counts in whole numbers

ClipperLib::Path path_of(const Polyline& area) {
  ClipperLib::Path path;
  path.reserve(area.size());
  for (const Vec2& p : area) path.emplace_back(std::llround(p.x() * grid), std::llround(p.y() * grid));
  if (!ClipperLib::Orientation(path)) ClipperLib::ReversePath(path);
  return path;
}

std::vector<Polyline> outer_of(const ClipperLib::Paths& paths) {
  std::vector<Polyline> out;
  for (const ClipperLib::Path& path : paths) {
    if (!ClipperLib::Orientation(path)) continue;  // a hole
    Polyline area;
    for (const ClipperLib::IntPoint& p : path)
      area.emplace_back(static_cast<double>(p.X) / grid, static_cast<double>(p.Y) / grid);
    if (area.size() >= 3) out.push_back(std::move(area));
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Polyline& a, const Polyline& b) { return signed_area(a) > signed_area(b); });
  return out;
}

}  // namespace

std::vector<Polyline> united(const std::vector<Polyline>& areas) {
  ClipperLib::Clipper clipper;
  for (const Polyline& area : areas) clipper.AddPath(path_of(area), ClipperLib::ptSubject, true);
  ClipperLib::Paths out;
  clipper.Execute(ClipperLib::ctUnion, out, ClipperLib::pftNonZero, ClipperLib::pftNonZero);
  return outer_of(out);
}

std::vector<Polyline> overlap(const Polyline& a, const Polyline& b) {
  ClipperLib::Clipper clipper;
  clipper.AddPath(path_of(a), ClipperLib::ptSubject, true);
  clipper.AddPath(path_of(b), ClipperLib::ptClip, true);
  ClipperLib::Paths out;
  clipper.Execute(ClipperLib::ctIntersection, out, ClipperLib::pftNonZero, ClipperLib::pftNonZero);
  return outer_of(out);
}

std::vector<Polyline> without_rim(const Polyline& area, double width) {
  constexpr double mitre = 4;  // times the width: corners of a photo's frame are never so sharp
  ClipperLib::ClipperOffset offset(mitre);
  offset.AddPath(path_of(area), ClipperLib::jtMiter, ClipperLib::etClosedPolygon);
  ClipperLib::Paths out;
  offset.Execute(out, -width * grid);
  return outer_of(out);
}

double overlap_area(const Polyline& a, const Polyline& b) {
  double sum = 0;
  for (const Polyline& part : overlap(a, b)) sum += signed_area(part);
  return sum;
}

}  // namespace chalkfold
