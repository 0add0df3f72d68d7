// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/faint_links.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/chalk/displaced_places.h"
#include "pipeline/trace/chalk/inks.h"
#include "pipeline/trace/chalk/stroke_profile.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the rings that the tests of find_chalk_lines draw, pressed lightly over a part.
constexpr double least = 3, most = 90;  // mm between two ends: less is bridged anyway; a hand's breadth
constexpr double most_share = 0.6;      // of the length of the strokes whose ends they are: else little was drawn
constexpr double least_facing = 0.2;    // cosine between a stroke's way out of its end and the way to the other; fitted
constexpr double most_aside = 8;        // mm that the link may lie beside the smooth curve between the ends; fitted
constexpr double least_ink = 0.15;      // of the strokes' own, on the link's average; fitted
constexpr double least_spreads = 3.5;   // over links found in the same way elsewhere: 1 in 4,000 of a normal
constexpr double step = 0.9;            // mm along a link: one px of the picture and a half
constexpr double across = panel_mm_per_px;  // mm beside it
constexpr double arm = 6;                   // mm of a stroke's end that tell where it heads: two or three of its widths
constexpr double least_stroke = 12;         // mm: two arms
// mm beside the curve at its ends, and more per mm from them; fitted
constexpr double free_aside = 1.2, aside_per_mm = 0.35;
constexpr double flank = 1.6;         // mm beside the stroke's side, where the bare material is read: past its blur
constexpr double bend_cost = 0.06;    // of the ink, for a step to the side; fitted
constexpr double least_inside = 0.8;  // of a curve, on the panel; fitted
constexpr int copies_tried = 120;     // places, of which many miss the panel
constexpr std::size_t copies_wanted = 36, copies_least = 8;  // their spread is known to 12 %, and to 25 %
constexpr double off_own_place = 8;                          // mm: as far as its own ink may lie aside
constexpr double no_spread = 1e-6;

struct End {
  std::size_t stroke = 0;
  Vec2 at = Vec2::Zero(), out = Vec2::UnitX();
};

std::vector<End> ends_of(const std::vector<Stroke>& strokes) {
  std::vector<End> ends;
  for (std::size_t i = 0; i < strokes.size(); ++i) {
    if (strokes[i].length < least_stroke) continue;
    Polyline line = strokes[i].points;
    for (int way = 0; way < 2; ++way) {
      std::size_t k = line.size() - 1;
      for (double run = 0; k > 0 && run < arm; --k) run += (line[k] - line[k - 1]).norm();
      ends.push_back({i, line.back(), (line.back() - line[k]).normalized()});
      std::reverse(line.begin(), line.end());
    }
  }
  return ends;
}

/// From end to end, leaving and arriving as the strokes run (C. Hermite's cubic).
Polyline smooth_between(const End& a, const End& b) {
  const double d = (b.at - a.at).norm();
  const int count = std::max(3, static_cast<int>(std::ceil(d / step)));
  Polyline line;
  for (int k = 0; k <= count; ++k) {
    const double t = static_cast<double>(k) / count, t2 = t * t, t3 = t2 * t;
    line.push_back((2 * t3 - 3 * t2 + 1) * a.at + (t3 - 2 * t2 + t) * d * a.out + (3 * t2 - 2 * t3) * b.at -
                   (t3 - t2) * d * b.out);
  }
  return line;
}

struct Path {
  Polyline points;
  double ink = 0;
};

/// The inkiest path beside a curve; none when too little of it lies on the panel.
std::optional<Path> inkiest(const PanelPicture& picture, const Stroke& ink, const Polyline& curve, double aside) {
  const int half = static_cast<int>(std::lround(aside / across)),
            beside = std::max(1, static_cast<int>(std::lround((ink.width / 2 + flank) / across))), wide = half + beside;
  const std::size_t n = curve.size();
  const std::size_t columns = 2 * static_cast<std::size_t>(half) + 1;
  std::vector<double> value(n * columns), best(n * columns, -1e300);
  std::vector<int> came(n * columns, 0);
  Polyline normals(n);
  std::size_t inside = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const Vec2 t = (curve[std::min(n - 1, i + 2)] - curve[i < 2 ? 0 : i - 2]).normalized();
    normals[i] = Vec2(-t.y(), t.x());
    std::vector<double> row;
    for (int k = -wide; k <= wide; ++k) row.push_back(ink_at(picture, ink, curve[i] + k * across * normals[i]));
    const Vec2 q = picture.raster.raster_from_table(curve[i]);
    const cv::Point pixel(cvRound(q.x()), cvRound(q.y()));
    inside += cv::Rect({0, 0}, picture.inside.size()).contains(pixel) && picture.inside.at<unsigned char>(pixel) != 0;
    for (std::size_t k = 0; k < columns; ++k) {
      const auto m = k + static_cast<std::size_t>(beside);
      value[i * columns + k] =
          row[m] - 0.5 * (row[m - static_cast<std::size_t>(beside)] + row[m + static_cast<std::size_t>(beside)]);
    }
  }
  if (static_cast<double>(inside) < least_inside * static_cast<double>(n)) return std::nullopt;
  const auto allowed = [&](std::size_t i) {
    const double near = step * static_cast<double>(std::min(i, n - 1 - i));
    return static_cast<int>(std::min<double>(half, (free_aside + aside_per_mm * near) / across));
  };
  for (std::size_t i = 0; i < n; ++i)
    for (int k = -allowed(i); k <= allowed(i); ++k) {
      const auto here = i * columns + static_cast<std::size_t>(k + half);
      if (i == 0) {
        best[here] = value[here];
        continue;
      }
      for (int from = std::max(-half, k - 1); from <= std::min(half, k + 1); ++from) {
        const double sum = best[(i - 1) * columns + static_cast<std::size_t>(from + half)] + value[here] -
                           bend_cost * std::abs(k - from);
        if (sum <= best[here]) continue;
        best[here] = sum;
        came[here] = from;
      }
    }
  const auto last = best.begin() + static_cast<std::ptrdiff_t>((n - 1) * columns);
  int k = static_cast<int>(std::max_element(last, best.end()) - last) - half;
  Path path;
  path.points.resize(n);
  for (std::size_t i = n; i-- > 0;) {
    path.points[i] = curve[i] + k * across * normals[i];
    path.ink += value[i * columns + static_cast<std::size_t>(k + half)];
    k = came[i * columns + static_cast<std::size_t>(k + half)];
  }
  path.ink /= static_cast<double>(n);
  return path;
}

/// By how many spreads a path's ink stands out from what the same search finds at other places. Nine in ten of them: strokes may lie under the rest.
double stands_out(const PanelPicture& picture, const Stroke& ink, const Polyline& curve, const Path& path,
                  double aside) {
  const Vec2 middle = geometry::bounding_box(curve).centre();
  std::vector<double> found;
  for (int i = 1; i <= copies_tried && found.size() < copies_wanted; ++i) {
    const Vec2 shift = displaced_shift(picture, middle, i);
    if (shift.norm() < off_own_place) continue;
    Polyline moved_curve = curve;
    for (Vec2& p : moved_curve) p += shift;
    if (const auto other = inkiest(picture, ink, moved_curve, aside)) found.push_back(other->ink);
  }
  if (found.size() < copies_least) return 0;
  std::sort(found.begin(), found.end());
  found.resize(found.size() * trim_kept / trim_of);
  double mean = 0, spread = 0;
  for (const double f : found) mean += f / static_cast<double>(found.size());
  for (const double f : found) spread += (f - mean) * (f - mean) / static_cast<double>(found.size());
  return (path.ink - mean) / std::max(no_spread, std::sqrt(spread) / trimmed_spread);
}

bool may_be_linked(const End& a, const End& b, const std::vector<Stroke>& strokes) {
  const Vec2 way = b.at - a.at;
  const double d = way.norm();
  const Stroke &s = strokes[a.stroke], &t = strokes[b.stroke];
  const double length = a.stroke == b.stroke ? s.length : s.length + t.length;
  if (d < least || d > most || d > most_share * length) return false;
  if (s.departure.dot(t.departure) < same_ink * s.contrast * t.contrast) return false;
  return a.out.dot(way) > least_facing * d && -b.out.dot(way) > least_facing * d;
}

}  // namespace

std::vector<FaintLink> faint_links(const PanelPicture& picture, const std::vector<Stroke>& strokes) {
  const std::vector<End> ends = ends_of(strokes);
  std::vector<FaintLink> links;
  for (std::size_t i = 0; i < ends.size(); ++i)
    for (std::size_t j = i + 1; j < ends.size(); ++j) {
      if (!may_be_linked(ends[i], ends[j], strokes)) continue;
      const Stroke &a = strokes[ends[i].stroke], &b = strokes[ends[j].stroke];
      const Stroke& ink = a.length >= b.length ? a : b;
      const Polyline curve = smooth_between(ends[i], ends[j]);
      const auto path = inkiest(picture, ink, curve, most_aside);
      if (!path || path->ink < least_ink) continue;
      if (stands_out(picture, ink, curve, *path, most_aside) < least_spreads) continue;
      links.push_back({path->points, path->ink, ends[i].stroke, ends[j].stroke});
    }
  return links;
}

}  // namespace chalkfold::trace
