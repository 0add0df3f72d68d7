// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/draft/change/change_steps.h"
#include "pipeline/draft/piece/draft_piece.h"

namespace chalkfold::draft {

namespace {
constexpr double degree = std::numbers::pi / 180;
constexpr double corner_reach = 12;  // mm, between corners that are the same once the reference is mapped
constexpr double corner_turn = 0.5;  // rad, that their turns may differ by

struct CornerPairs {
  std::vector<geometry::OutlineCorner> reference, measured;
};

/// Corners of both outlines, in the same order; those that only one has are left out.
CornerPairs common_corners(const DimensionalChange& change, const ComparedShape& reference,
                           const ComparedShape& measured, const geometry::EdgeCornerOptions& options) {
  CornerPairs pairs;
  std::vector<geometry::OutlineCorner> open = geometry::find_edge_corners(measured.outline.points, options);
  for (const geometry::OutlineCorner& corner : geometry::find_edge_corners(reference.outline.points, options)) {
    const Vec2 there = change.affine * corner.point;
    const auto nearest = std::min_element(open.begin(), open.end(), [&](const auto& a, const auto& b) {
      return (a.point - there).squaredNorm() < (b.point - there).squaredNorm();
    });
    if (nearest == open.end() || (nearest->point - there).norm() > corner_reach ||
        std::abs(nearest->turn - corner.turn) > corner_turn)
      continue;
    pairs.reference.push_back(corner);
    pairs.measured.push_back(*nearest);
    open.erase(nearest);
  }
  return pairs;
}

/// How often the measured corners go back along the outline when run through in the reference's order, closed: once when in order.
std::size_t steps_back(const std::vector<geometry::OutlineCorner>& corners) {
  std::size_t back = 0;
  for (std::size_t i = 0; i < corners.size(); ++i)
    if (corners[(i + 1) % corners.size()].along <= corners[i].along) ++back;
  return back;
}

/// Index of the edge that is number 1.
std::size_t first_edge(const std::vector<OutlineEdge>& edges, const ComparedShape& measured) {
  std::vector<OutlineEdge> ordered = edges;
  Vec2 start = edges.front().curve.front().from;
  if (measured.first_corner) {
    start = *measured.first_corner;
  } else {
    order_edges(ordered, measured.panel_marks);
    start = ordered.front().curve.front().from;
  }
  const auto first = std::min_element(edges.begin(), edges.end(), [&](const OutlineEdge& a, const OutlineEdge& b) {
    return (a.curve.front().from - start).squaredNorm() < (b.curve.front().from - start).squaredNorm();
  });
  return static_cast<std::size_t>(first - edges.begin());
}
}  // namespace

std::vector<EdgeChange> edge_changes(const DimensionalChange& change, const ComparedShape& reference,
                                     const ComparedShape& measured, const EdgeOptions& options) {
  CornerPairs corners = common_corners(change, reference, measured, options.corners);
  if (steps_back(corners.measured) > 1) corners = {};
  const std::vector<OutlineEdge> before = fit_edges(reference.outline, options, corners.reference),
                                 after = fit_edges(measured.outline, options, corners.measured);
  const std::size_t n = after.size(), first = n > 1 ? first_edge(after, measured) : 0;
  std::vector<EdgeChange> out;
  for (std::size_t k = 0; k < n; ++k) {
    const std::size_t i = (first + k) % n, last = (i + n - 1) % n, next = (i + 1) % n;
    EdgeChange edge;
    edge.number = static_cast<int>(k) + 1;
    edge.from = after[i].curve.front().from;
    edge.to = after[i].curve.back().to;
    edge.length.before = geometry::length(before[i].curve);
    edge.length.after = geometry::length(after[i].curve);
    // An edge's ends are held by its neighbours, each known to its own U.
    const double U = std::hypot(std::hypot(before[last].U, before[next].U), std::hypot(after[last].U, after[next].U));
    edge.length.change = {percent_change(edge.length.before, edge.length.after), 100 * U / edge.length.before};
    if (n > 1) edge.grain_deg = angle_between_lines(edge.to - edge.from, change.direction) / degree;
    out.push_back(edge);
  }
  return out;
}

}  // namespace chalkfold::draft
