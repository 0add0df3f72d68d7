// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "pipeline/draft/piece/outline_edges.h"
#include "pipeline/draft/piece/outline_mark.h"
#include "pipeline/draft/piece/symmetry_options.h"

namespace chalkfold::draft {

/// One half of an outline in the axis's frame (x = 0 on the axis, y along it), right of the axis, from the lowest crossing to the
/// highest. The left half is mirrored into this.
struct Half {
  /// open; its ends lie on the axis
  panel::Contour path;
  /// mm along it, of every point
  std::vector<double> stations;
  /// inside it, rising
  std::vector<geometry::OutlineCorner> corners;
  /// in the same frame
  std::vector<OutlineMark> marks;
  /// rising
  std::vector<double> mark_stations;
  bool corner_at_start = false, corner_at_end = false;
  /// Precondition of both: it has points.
  double length() const;
  Vec2 at(double station) const;
};

/// Cuts a closed contour, given in the axis's frame, into halves. False when it does not cross the axis. Precondition: each point has a
/// sigma and a U.
bool cut_into_halves(const panel::Contour& outline, const std::vector<geometry::OutlineCorner>& corners,
                     const std::vector<OutlineMark>& marks, Half& right, Half& left);

/// Stations of the same places on both halves.
struct Anchor {
  double right = 0, left = 0;
  bool corner = false;
  /// of a corner inside the halves: its index among the right one's corners
  std::optional<std::size_t> right_corner;
};

/// Start, matched corners and marks, end. Corners match when they turn the same way and lie near each other; marks match between two
/// matched corners when there are as many on both sides. Order is kept. Precondition: both halves have points.
std::vector<Anchor> matched(const Half& right, const Half& left);

/// Station on one half of the place that lies at `station` on the other, between the anchors in proportion.
double right_from_left(const std::vector<Anchor>& anchors, double station);
double left_from_right(const std::vector<Anchor>& anchors, double station);

/// The mean of both halves with its corners and marks, or the one that is kept. Precondition of the mean: two anchors or more, of these
/// halves.
Half folded(const Half& right, const Half& left, const std::vector<Anchor>& anchors, Fold fold);

}  // namespace chalkfold::draft
