// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/regions.h"

#include <algorithm>
#include <cmath>
#include <polyclipping/clipper.hpp>

#include "pipeline/geometry/polygon.h"

namespace chalkfold::geometry {
namespace {

constexpr double grid = 1e4;        // to the mm: Clipper counts in whole numbers
constexpr double round_off = 0.02;  // mm, of the corners that stand for round ones

ClipperLib::Path path_of(const Polyline& area) {
  ClipperLib::Path path;
  path.reserve(area.size());
  for (const Vec2& p : area) path.emplace_back(std::llround(p.x() * grid), std::llround(p.y() * grid));
  if (!ClipperLib::Orientation(path)) ClipperLib::ReversePath(path);
  return path;
}

Polyline polyline_of(const ClipperLib::Path& path) {
  Polyline area;
  for (const ClipperLib::IntPoint& p : path)
    area.emplace_back(static_cast<double>(p.X) / grid, static_cast<double>(p.Y) / grid);
  return area;
}

bool larger(const Polyline& a, const Polyline& b) { return std::abs(signed_area(a)) > std::abs(signed_area(b)); }

std::vector<Polyline> outer_of(const ClipperLib::Paths& paths) {
  std::vector<Polyline> out;
  for (const ClipperLib::Path& path : paths) {
    if (!ClipperLib::Orientation(path)) continue;  // a hole
    Polyline area = polyline_of(path);
    if (area.size() >= 3) out.push_back(std::move(area));
  }
  std::stable_sort(out.begin(), out.end(), larger);
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

double area_without(const Polyline& area, const std::vector<Polyline>& others) {
  ClipperLib::Clipper clipper;
  clipper.AddPath(path_of(area), ClipperLib::ptSubject, true);
  for (const Polyline& other : others) clipper.AddPath(path_of(other), ClipperLib::ptClip, true);
  ClipperLib::Paths out;
  clipper.Execute(ClipperLib::ctDifference, out, ClipperLib::pftNonZero, ClipperLib::pftNonZero);
  double sum = 0;  // holes run the other way and count off
  for (const ClipperLib::Path& path : out) sum += ClipperLib::Area(path);
  return sum / (grid * grid);
}

std::vector<RingedArea> covered_by(const std::vector<BroadLine>& lines) {
  ClipperLib::Clipper clipper;
  for (const BroadLine& line : lines) {
    ClipperLib::Path path;
    for (const Vec2& p : line.points) path.emplace_back(std::llround(p.x() * grid), std::llround(p.y() * grid));
    ClipperLib::ClipperOffset offset(2, round_off * grid);
    offset.AddPath(path, ClipperLib::jtRound, ClipperLib::etOpenRound);
    ClipperLib::Paths covered;
    offset.Execute(covered, 0.5 * line.width * grid);
    clipper.AddPaths(covered, ClipperLib::ptSubject, true);
  }
  ClipperLib::PolyTree tree;
  clipper.Execute(ClipperLib::ctUnion, tree, ClipperLib::pftNonZero, ClipperLib::pftNonZero);
  std::vector<RingedArea> areas;
  for (const ClipperLib::PolyNode* node = tree.GetFirst(); node; node = node->GetNext()) {
    if (node->IsHole()) continue;
    areas.push_back({polyline_of(node->Contour), {}});
    for (const ClipperLib::PolyNode* hole : node->Childs) {
      Polyline inside = polyline_of(hole->Contour);
      std::reverse(inside.begin(), inside.end());
      areas.back().inside.push_back(std::move(inside));
    }
  }
  std::stable_sort(areas.begin(), areas.end(),
                   [](const RingedArea& a, const RingedArea& b) { return larger(a.outer, b.outer); });
  return areas;
}

std::vector<Polyline> opened(const Polyline& area, double radius) {
  const auto offset_by = [](const ClipperLib::Paths& paths, double distance) {
    ClipperLib::ClipperOffset offset(2, round_off * grid);
    offset.AddPaths(paths, ClipperLib::jtRound, ClipperLib::etClosedPolygon);
    ClipperLib::Paths out;
    offset.Execute(out, distance * grid);
    return out;
  };
  return outer_of(offset_by(offset_by({path_of(area)}, -radius), radius));
}

}  // namespace chalkfold::geometry
