// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/layout/nested_places.h"

#include <algorithm>
#include <cmath>
#include <libnest2d/libnest2d.hpp>
#include <limits>

// The library's own no-fit polygons are for convex outlines; these specialisations are the place it leaves for others.
namespace libnest2d::nfp {

template <>
struct MaxNfpLevel<PolygonImpl> {
  static const constexpr NfpLevel value = NfpLevel::BOTH_CONCAVE;
};

/// Where the orbiting outline's reference corner may not be: all differences of a point of either outline.
inline NfpResult<PolygonImpl> minkowski_no_fit(const PolygonImpl& fixed, const PolygonImpl& orbiting) {
  using namespace ClipperLib;
  Path a = fixed.Contour, b = orbiting.Contour;
  a.pop_back();  // the library closes its outlines, Clipper does not
  b.pop_back();
  Paths swept;
  MinkowskiDiff(b, a, swept);
  // Sweeping one outline along the other leaves a hole where one lies wholly inside the other: filled by a copy of each.
  Path a_moved = a, b_turned = b;
  for (IntPoint& p : a_moved) p = p - b.front();
  for (IntPoint& p : b_turned) p = a.front() - p;
  if (!ClipperLib::Orientation(a_moved)) ReversePath(a_moved);
  if (!ClipperLib::Orientation(b_turned)) ReversePath(b_turned);
  Clipper clipper(ioReverseSolution);  // the library's outlines run clockwise
  clipper.AddPaths(swept, ptSubject, true);
  clipper.AddPath(a_moved, ptSubject, true);
  clipper.AddPath(b_turned, ptSubject, true);
  PolyTree tree;
  clipper.Execute(ctUnion, tree, pftNonZero, pftNonZero);
  const PolyNode* outer = nullptr;  // the others at its level are slivers of rounding
  for (const PolyNode* node : tree.Childs)
    if (!outer || std::abs(Area(node->Contour)) > std::abs(Area(outer->Contour))) outer = node;
  if (!outer) throw GeometryException(GeomErr::NFP);
  const auto closed = [](Path path) {
    path.push_back(path.front());
    return path;
  };
  PolygonImpl no_fit(closed(outer->Contour));
  // Holes are pockets to be laid into. One with an island in it counts as filled, the type has no place for that; slivers are
  // rounding, and lie where no place is.
  constexpr double sliver = 1e6;  // square units, 1 mm2
  for (const PolyNode* hole : outer->Childs)
    if (hole->Childs.empty() && std::abs(Area(hole->Contour)) > sliver) no_fit.Holes.push_back(closed(hole->Contour));
  return {no_fit, rightmostUpVertex(no_fit)};
}

/// Of all outlines, the convex ones too: the library's test takes some hollow ones for convex.
template <NfpLevel level>
struct NfpImpl<PolygonImpl, level> {
  NfpResult<PolygonImpl> operator()(const PolygonImpl& fixed, const PolygonImpl& orbiting) {
    return minkowski_no_fit(fixed, orbiting);
  }
};

}  // namespace libnest2d::nfp

namespace chalkfold::draft {
namespace {
namespace nest = libnest2d;
using Placer = nest::NfpPlacer;

constexpr double grid = 1e3;  // the library counts in whole micrometres
// mm inside the strip's sides, where the cost asks to stay: the search ends a little beside it
constexpr double rim = 0.05;
constexpr float accuracy = 0.5;  // of its search, 0..1: from here on layouts of ten pieces get no shorter, only slower

nest::Coord whole(double mm) { return static_cast<nest::Coord>(std::llround(mm * grid)); }
double mm(nest::Coord units) { return static_cast<double>(units) / grid; }

Polyline turned(const Polyline& line, double angle) {
  Polyline out;
  for (const Vec2& p : line) out.push_back(geometry::Rigid2{angle, Vec2::Zero()} * p);
  return out;
}

nest::Item item_of(const Polyline& outline) {
  ClipperLib::Path path;
  for (const Vec2& p : outline) path.emplace_back(whole(p.x()), whole(p.y()));
  std::reverse(path.begin(), path.end());
  path.push_back(path.front());
  return nest::Item(std::move(path), {});
}

/// The turn at which an outline fits the strip and is shortest along it; none when it does not fit at any.
std::optional<double> shortest_turn(const NestItem& item, double width) {
  std::optional<double> best;
  double least = std::numeric_limits<double>::infinity();
  for (const double turn : item.turns) {
    const Vec2 size = geometry::bounding_box(turned(item.outline, turn)).size();
    if (size.y() > width - 2 * rim || size.x() >= least) continue;
    least = size.x();
    best = turn;
  }
  return best;
}

/// What the search asks of a place, mm: the strip's length first, then near the beginning, then near the side.
struct Cost {
  double used = 0, width = 0, length = 0;
  NestWeights weights;
  double operator()(const nest::Item& item) const {
    const auto box = item.boundingBox();
    const double left = mm(box.minCorner().X), right = mm(box.maxCorner().X), low = mm(box.minCorner().Y),
                 high = mm(box.maxCorner().Y);
    const double outside = std::max(0.0, rim - left) + std::max(0.0, rim - low) + std::max(0.0, high - (width - rim)) +
                           std::max(0.0, right - length);
    return std::max(used, right) + weights.along * left + weights.across * low + 100 * outside;
  }
};

}  // namespace

std::vector<std::optional<geometry::Rigid2>> nested_places(const std::vector<NestItem>& items,
                                                           const std::vector<std::size_t>& order, double width,
                                                           const NestWeights& weights) {
  double length = 0;  // no layout needs more than all in a row
  std::vector<nest::Item> laid;
  std::vector<std::optional<double>> first;
  for (const NestItem& item : items) {
    first.push_back(shortest_turn(item, width));
    laid.push_back(item_of(turned(item.outline, first.back().value_or(0))));
    const geometry::Box box = geometry::bounding_box(item.outline);
    length += box.size().norm();
  }
  const nest::Box strip({0, 0}, {whole(length + 1), whole(width)});
  Placer placer(strip);
  Placer::Config config;
  config.alignment = Placer::Config::Alignment::DONT_ALIGN;
  config.starting_point = Placer::Config::Alignment::BOTTOM_LEFT;
  config.accuracy = accuracy;
  config.parallel = false;
  std::vector<std::optional<geometry::Rigid2>> places(items.size());
  double used = 0;
  for (const std::size_t i : order) {
    if (!first[i]) continue;
    config.rotations.clear();
    for (const double turn : items[i].turns) config.rotations.emplace_back(turn - *first[i]);
    config.object_function = Cost{used, width, length, weights};
    placer.configure(config);
    if (!placer.pack(laid[i])) continue;
    used = std::max(used, mm(laid[i].boundingBox().maxCorner().X));
    const double turn = *first[i] + static_cast<double>(laid[i].rotation());
    places[i] = geometry::Rigid2{turn, Vec2(mm(laid[i].translation().X), mm(laid[i].translation().Y))};
  }
  return places;
}

}  // namespace chalkfold::draft
