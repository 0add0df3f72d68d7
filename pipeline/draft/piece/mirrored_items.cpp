// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/mirrored_items.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "pipeline/geometry/polygon.h"

namespace chalkfold::draft {
namespace {

/// Items nearer than this to where the axis puts them are a pair; wear moves them no further.
constexpr double pair_reach = 12;  // mm

std::vector<std::pair<Vec2, double>> symmetric_holes(const std::vector<panel::DrillHole>& holes,
                                                     const geometry::MirrorAxis& axis) {
  std::vector<std::pair<Vec2, double>> out;
  std::vector<bool> used(holes.size(), false);
  for (std::size_t i = 0; i < holes.size(); ++i) {
    if (used[i]) continue;
    used[i] = true;
    const Vec2 image = axis.image(holes[i].centre);
    std::size_t fellow = i;
    double nearest = (image - holes[i].centre).norm() < pair_reach ? (image - holes[i].centre).norm() : pair_reach;
    for (std::size_t k = i + 1; k < holes.size(); ++k)
      if (!used[k] && (holes[k].centre - image).norm() < nearest) {
        nearest = (holes[k].centre - image).norm();
        fellow = k;
      }
    if (fellow == i && (image - holes[i].centre).norm() < pair_reach) {  // on the axis
      out.emplace_back(0.5 * (image + holes[i].centre), holes[i].diameter);
      continue;
    }
    used[fellow] = true;
    const Vec2 centre = 0.5 * (holes[i].centre + axis.image(holes[fellow].centre));
    const double diameter = 0.5 * (holes[i].diameter + holes[fellow].diameter);
    if (fellow == i) {
      out.emplace_back(holes[i].centre, diameter);
      out.emplace_back(image, diameter);
    } else {
      out.emplace_back(centre, diameter);
      out.emplace_back(axis.image(centre), diameter);
    }
  }
  return out;
}

/// Even points, the first where a ray from the centroid along `from` meets the contour.
Polyline even_from(const Polyline& closed, const Vec2& from, std::size_t count) {
  const Vec2 middle = geometry::centroid(closed);
  Polyline dense = geometry::resample_closed(closed, 4 * count);
  const auto first = std::max_element(dense.begin(), dense.end(), [&](const Vec2& a, const Vec2& b) {
    return from.dot((a - middle).normalized()) < from.dot((b - middle).normalized());
  });
  std::rotate(dense.begin(), first, dense.end());
  return geometry::resample_closed(dense, count);
}

/// Mirrored and run through backwards, so that it turns the same way.
Polyline image_of(const Polyline& closed, const geometry::MirrorAxis& axis) {
  Polyline image;
  for (auto p = closed.rbegin(); p != closed.rend(); ++p) image.push_back(axis.image(*p));
  return image;
}

Polyline mean_of(const Polyline& a, const Polyline& b, const geometry::MirrorAxis& axis) {
  const auto count =
      static_cast<std::size_t>(std::max(24.0, std::max(geometry::length(a, true), geometry::length(b, true)) / 2));
  const Polyline ea = even_from(a, axis.direction, count), eb = even_from(b, axis.direction, count);
  Polyline mean;
  for (std::size_t i = 0; i < count; ++i) mean.push_back(0.5 * (ea[i] + eb[i]));
  return mean;
}

void symmetric_cutouts(Piece& piece, const panel::Panel& panel, const geometry::MirrorAxis& axis) {
  std::vector<bool> used(panel.cutouts.size(), false);
  for (std::size_t i = 0; i < panel.cutouts.size(); ++i) {
    if (used[i]) continue;
    used[i] = true;
    const Polyline& own = panel.cutouts[i].points;
    const Vec2 image = axis.image(geometry::centroid(own));
    std::size_t fellow = panel.cutouts.size();
    double nearest = pair_reach;
    for (std::size_t k = i; k < panel.cutouts.size(); ++k) {
      const double away = (geometry::centroid(panel.cutouts[k].points) - image).norm();
      if ((k == i || !used[k]) && away < nearest) {
        nearest = away;
        fellow = k;
      }
    }
    if (fellow == panel.cutouts.size()) {
      piece.cutouts.push_back(own);
      piece.faults.push_back(
          {"cut-out-one-sided", Severity::warning,
           fmt::format("A cut-out at x {:.0f}, y {:.0f} mm has no fellow on the other half; it was left as measured.",
                       geometry::centroid(own).x(), geometry::centroid(own).y()),
           "If it belongs on both sides, add it there by hand.", panel.photo, piece.name});
      continue;
    }
    used[fellow] = true;
    const Polyline mean = mean_of(own, image_of(panel.cutouts[fellow].points, axis), axis);
    piece.cutouts.push_back(mean);
    if (fellow != i) piece.cutouts.push_back(image_of(mean, axis));
  }
}

}  // namespace

void take_inner_items(Piece& piece, const panel::Panel& panel, const std::optional<geometry::MirrorAxis>& axis) {
  if (axis) {
    piece.holes = symmetric_holes(panel.marks.holes, *axis);
    symmetric_cutouts(piece, panel, *axis);
    return;
  }
  for (const panel::DrillHole& hole : panel.marks.holes) piece.holes.emplace_back(hole.centre, hole.diameter);
  for (const panel::Contour& cutout : panel.cutouts) piece.cutouts.push_back(cutout.points);
}

}  // namespace chalkfold::draft
