// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/sew_contour.h"

#include <algorithm>
#include <cmath>

#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/robust.h"
#include "pipeline/geometry/segment.h"

namespace chalkfold::draft {
namespace {

/// What a row says at one place of the outline.
struct Reading {
  double along = 0, allowance = 0, sigma = 0;
};

/// Over so much of the outline a row's holes are averaged.
constexpr double smooth = 15;  // mm
/// Between holes further apart than this the row is broken.
constexpr double gap = 30;  // mm

/// Rows with another row nearer to the outline beside most of them are top-stitches.
std::vector<const panel::NeedleRow*> outer_rows(const std::vector<panel::NeedleRow>& rows) {
  std::vector<const panel::NeedleRow*> outer;
  for (const panel::NeedleRow& row : rows) {
    const bool second = std::any_of(rows.begin(), rows.end(), [&](const panel::NeedleRow& other) {
      if (&other == &row || other.allowance >= row.allowance - 1) return false;
      std::size_t beside = 0;
      for (const Vec2& p : row.points)
        beside += geometry::distance_to(other.points, p, false) < row.allowance - other.allowance + 2 ? 1 : 0;
      return 2 * beside > row.points.size();
    });
    if (!second) outer.push_back(&row);
  }
  return outer;
}

}  // namespace

panel::Contour sew_contour(const panel::Contour& outline, const std::vector<panel::NeedleRow>& rows) {
  const Polyline& points = outline.points;
  const std::size_t n = points.size();
  require_at_least("points of the outline", n, 8);
  require_equal("sigmas of the outline", outline.sigma.size(), n);
  require_equal("U of the outline", outline.U.size(), n);
  require_at_least("needle rows", rows.size(), 1);
  for (const panel::NeedleRow& row : rows) require_at_least("holes of a needle row", row.points.size(), 1);
  std::vector<double> stations{0};
  for (std::size_t i = 0; i < n; ++i) stations.push_back(stations.back() + (points[(i + 1) % n] - points[i]).norm());
  const double round = stations.back();
  std::vector<Reading> readings;
  std::vector<double> allowances;
  for (const panel::NeedleRow* row : outer_rows(rows))
    for (const Vec2& p : row->points) {
      const geometry::LinePlace place = geometry::nearest_on_line(points, p, true);
      readings.push_back({place.along, place.distance, row->sigma});
      allowances.push_back(readings.back().allowance);
    }
  std::sort(readings.begin(), readings.end(), [](const Reading& a, const Reading& b) { return a.along < b.along; });
  const double usual = geometry::median(allowances);

  panel::Contour sew;
  for (std::size_t i = 0; i < n; ++i) {
    double weight = 0, sum = 0, sigma = 0, nearest = 1e300;
    for (const Reading& r : readings) {
      const double away = std::abs(std::remainder(r.along - stations[i], round));
      nearest = std::min(nearest, away);
      if (away > smooth) continue;
      const double w = 1 - away / smooth;
      weight += w;
      sum += w * r.allowance;
      sigma += w * r.sigma;
    }
    const bool seen = weight > 0 && nearest < 0.5 * gap;
    const double allowance = seen ? sum / weight : usual;
    const Vec2 along = points[(i + 4) % n] - points[(i + n - 4) % n];
    const Vec2 p = points[i] + allowance * Vec2(-along.y(), along.x()).normalized();
    if (!geometry::contains(points, p) || geometry::distance_to(points, p, true) < 0.97 * allowance) continue;
    sew.points.push_back(p);
    sew.sigma.push_back(
        seen ? sigma / weight
             : std::hypot(outline.sigma[i], 0.5));  // 0.5 mm: sewn by hand along an edge, common practice, no source
    sew.U.push_back(outline.U[i]);
  }
  return sew;
}

}  // namespace chalkfold::draft
