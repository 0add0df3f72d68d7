// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/cuts/notches.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>

#include "pipeline/trace/cuts/notch_opening.h"
#include "pipeline/trace/cuts/slits.h"

namespace chalkfold::trace {
namespace {

// fitted: no source but the notches found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double resolution = NotchStrip::resolution, start_depth = NotchStrip::start_depth;
constexpr double least_depth = 2.4;       // mm: notches are cut 3 to 8 deep, and blur takes a little; less is fray
constexpr double most_depth = 9.5;        // mm; deeper cuts are part of the outline, chalk like the table is longer
constexpr double most_width = 11;         // mm, of the mouth: a V of 8 is up to 10 wide
constexpr double slit_width = 1.5;        // mm, at half depth: scissors leave up to 0.9, and blur widens it
constexpr double least_contrast = 2.5;    // standard deviations between panel and table: below, nothing is said; fitted
constexpr double least_mean_open = 0.66;  // of a notch's area: chalk is grainy, a cut is not; fitted
constexpr double least_table = 0.35;      // of a notch's area that has the table's colour; fitted
constexpr double end_margin = 4;          // mm from a corner in which nothing is a notch: the base is one-sided there
constexpr double slit_beside = 3;         // mm from another notch in which a slit is that notch's side
constexpr double shape_ratio = 0.62;  // of the widths at 3/4 and 1/4 depth: midway between 1/3 of a V and 0.9 of a U
constexpr double pointed = 0.45;      // the same: a small V is as narrow as a slit at half its depth, not at its mouth
constexpr double looks_depth = 0.8;   // of a column's depth: its end is blurred
constexpr std::size_t deepest_columns = 3;  // px, 0.6 mm, together: one alone may be a thread's shadow
// of the depth: where the sides are read, clear of the rounded mouth and of the blurred end
constexpr double first_level = 0.2, last_level = 0.9, level_step = 0.05;
constexpr double sides_from = 0.18, sides_to = 0.72, middle_to = 0.95;
constexpr double most_beyond = 1.35;  // of the depth seen, where a V's sides meet: blur hides no more; fitted
constexpr double sides_apart = 0.01;  // mm, between a slit's two sides: an outline may not touch itself
constexpr double place_sigma = 0.1;   // mm, and half a px: of a notch's place; fitted
constexpr double slit_sigma = 0.15;   // mm, of a slit's; fitted
constexpr double surely_slit = 20;    // contrast of full confidence; fitted

/// Means over an opening, from well inside the edge to most of its depth: how open it is, and the share that has the table's colour.
struct Looks {
  double open = 0, table = 0;
};

Looks looks_of(const OpenMap& map, const EdgeStrip& strip, const Opening& c) {
  const int start = static_cast<int>(std::lround((start_depth - strip.first_depth) / resolution));
  Looks looks;
  int n = 0;
  for (int x = c.from; x < c.to; ++x) {
    const int rows = static_cast<int>(c.depth[static_cast<std::size_t>(x - c.from)] * looks_depth / resolution);
    for (int y = start; y < start - static_cast<int>(start_depth / resolution) + rows; ++y, ++n) {
      looks.open += map.open.at<float>(std::min(y, map.open.rows - 1), x);
      looks.table += map.table_like(std::min(y, map.open.rows - 1), x);
    }
  }
  if (n > 0) {
    looks.open /= n;
    looks.table /= n;
  }
  return looks;
}

/// Sides of the cut, mm along the base, at a depth.
struct Level {
  double depth, left, right;
};

std::vector<Level> levels_of(const Opening& c, const EdgeStrip& strip, double deepest) {
  std::vector<Level> levels;
  for (double share = first_level; share <= last_level + 1e-3; share += level_step) {
    if (const auto s = c.span(share * deepest))
      levels.push_back({share * deepest, strip.along_of(c.from + s->first), strip.along_of(c.from + s->second)});
  }
  return levels;
}

/// Straight line value(depth) = a + b depth through some of the levels.
std::pair<double, double> line_through(const std::vector<Level>& levels, double low, double high,
                                       double (*value)(const Level&)) {
  double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
  for (const Level& l : levels) {
    if (l.depth < low || l.depth > high) continue;
    const double y = value(l);
    n += 1;
    sx += l.depth;
    sy += y;
    sxx += l.depth * l.depth;
    sxy += l.depth * y;
  }
  const double det = n * sxx - sx * sx;
  if (std::abs(det) < 1e-12) return {n > 0 ? sy / n : 0, 0};
  return {(sxx * sy - sx * sxy) / det, (n * sxy - sx * sy) / det};
}

struct CutPoint {
  double along, depth;  // mm in the strip
};

/// The shape's sides as points, from one side of the mouth to the other.
std::vector<CutPoint> shape_of(const std::vector<Level>& levels, double deepest, panel::Notch& notch) {
  const double low = sides_from * deepest, high = sides_to * deepest;
  const auto left = line_through(levels, low, high, [](const Level& l) { return l.left; });
  const auto right = line_through(levels, low, high, [](const Level& l) { return l.right; });
  const auto middle =
      line_through(levels, low, middle_to * deepest, [](const Level& l) { return 0.5 * (l.left + l.right); });
  notch.width = std::max(0.0, right.first - left.first);
  std::vector<CutPoint> points = {{left.first, 0}};
  if (notch.shape == panel::NotchShape::vee) {
    // Where the two sides meet; blur keeps the open area from reaching that far.
    const double closing = left.second - right.second;
    notch.depth = closing > 1e-6 ? std::clamp(notch.width / closing, deepest, most_beyond * deepest) : deepest;
    points.push_back({middle.first + middle.second * notch.depth, notch.depth});
  } else if (notch.shape == panel::NotchShape::slit) {
    notch.depth = deepest;
    const double at = middle.first + middle.second * deepest;
    points = {{middle.first - sides_apart, 0}, {at, deepest}, {middle.first + sides_apart, 0}};
    notch.width = 0;
    return points;
  } else {
    notch.depth = deepest;
    for (const Level& l : levels) {
      if (l.depth > low) points.push_back({l.left, l.depth});
    }
    points.push_back({middle.first + middle.second * deepest, deepest});
    for (auto l = levels.rbegin(); l != levels.rend(); ++l) {
      if (l->depth > low) points.push_back({l->right, l->depth});
    }
  }
  points.push_back({right.first, 0});
  return points;
}

std::optional<NotchCut> as_notch(const Opening& c, const OpenMap& map, const EdgeStrip& strip) {
  if (map.contrast[static_cast<std::size_t>((c.from + c.to) / 2)] < least_contrast) return std::nullopt;
  std::vector<double> sorted = c.depth;
  std::sort(sorted.rbegin(), sorted.rend());
  const std::size_t top = std::min(sorted.size(), deepest_columns);
  const double deepest = std::accumulate(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(top), 0.0) /
                         static_cast<double>(top);
  const double across = strip.along_of(c.to - c.from);
  if (deepest < least_depth || deepest > most_depth || across > most_width) return std::nullopt;
  const auto half = c.span(0.5 * deepest), quarter = c.span(0.25 * deepest), three = c.span(0.75 * deepest);
  if (!half || !quarter || !three) return std::nullopt;
  const double half_width = strip.along_of(half->second - half->first);
  const Looks looks = looks_of(map, strip, c);
  const double ratio = (three->second - three->first) / std::max(1e-6, quarter->second - quarter->first);
  const bool slit = half_width < slit_width && ratio > pointed;
  if (!slit && (looks.open < least_mean_open || looks.table < least_table)) return std::nullopt;
  const double at = strip.along_of(0.5 * (c.from + c.to)), end = strip.along_of(strip.bgr.cols);
  if (!strip.base->closed && std::min(at, end - at) < end_margin + half_width / 2) return std::nullopt;
  NotchCut cut;
  panel::Notch& n = cut.notch;
  n.shape = slit ? panel::NotchShape::slit : ratio < shape_ratio ? panel::NotchShape::vee : panel::NotchShape::round;
  double cut_depth = deepest;
  if (slit) {
    for (int x = c.from; x < c.to; ++x) cut_depth = std::max(cut_depth, open_extent(map, strip, x));
    if (cut_depth > most_depth) return std::nullopt;
  }
  const std::vector<CutPoint> shape = shape_of(levels_of(c, strip, deepest), cut_depth, n);
  if (n.width > most_width) return std::nullopt;
  const auto place = [&](const CutPoint& p) {
    return strip.table_from_strip(p.along / strip.mm_per_px, (p.depth - strip.first_depth) / strip.mm_per_px);
  };
  for (const CutPoint& p : shape) cut.course.push_back(place(p));
  cut.from = shape.front().along;
  cut.to = shape.back().along;
  const auto tip = std::max_element(shape.begin(), shape.end(),
                                    [](const CutPoint& a, const CutPoint& b) { return a.depth < b.depth; });
  n.tip = place(*tip);
  n.foot = place({0.5 * (cut.from + cut.to), 0});
  n.sigma = place_sigma + 0.5 * resolution;
  n.confidence = std::min(1.0, looks.open) *
                 std::min(1.0, map.contrast[static_cast<std::size_t>((c.from + c.to) / 2)] / (2 * least_contrast));
  return cut;
}

NotchCut slit_cut(const SlitSeen& slit, const EdgeStrip& strip) {
  const auto place = [&](double along, double depth) {
    return strip.table_from_strip(along / strip.mm_per_px, (depth - strip.first_depth) / strip.mm_per_px);
  };
  NotchCut cut;
  cut.from = slit.mouth - sides_apart;
  cut.to = slit.mouth + sides_apart;
  cut.course = {place(cut.from, 0), place(slit.tip, slit.depth), place(cut.to, 0)};
  cut.notch.shape = panel::NotchShape::slit;
  cut.notch.foot = place(slit.mouth, 0);
  cut.notch.tip = cut.course[1];
  cut.notch.depth = slit.depth;
  cut.notch.sigma = slit_sigma;
  cut.notch.confidence = std::min(1.0, slit.contrast / surely_slit);
  return cut;
}

}  // namespace

std::vector<NotchCut> find_notches(const cv::Mat& photo_bgr, const survey::TableView& view, const EdgeBase& base,
                                   double height) {
  const EdgeStrip strip =
      edge_strip(photo_bgr, view, base, height, -NotchStrip::outside, NotchStrip::inside, resolution);
  const OpenMap map = open_map(strip);
  std::vector<NotchCut> cuts;
  for (const Opening& c : openings_in(map, strip)) {
    if (auto cut = as_notch(c, map, strip)) cuts.push_back(std::move(*cut));
  }
  for (const SlitSeen& slit : slits_in(strip, least_depth, most_depth)) {
    const double end = strip.along_of(strip.bgr.cols);
    if (!base.closed && std::min(slit.mouth, end - slit.mouth) < end_margin) continue;
    const bool taken = std::any_of(cuts.begin(), cuts.end(), [&](const NotchCut& cut) {
      return slit.mouth > cut.from - slit_beside && slit.mouth < cut.to + slit_beside;
    });
    if (!taken) cuts.push_back(slit_cut(slit, strip));
  }
  std::sort(cuts.begin(), cuts.end(), [](const NotchCut& a, const NotchCut& b) { return a.from < b.from; });
  return cuts;
}

bool is_drawn(const NotchCut& cut, const Polyline& stroke) {
  constexpr double near = 2.2, beyond = 3.5;  // mm: half a stroke off the tip; of stroke deeper in; fitted
  const Vec2 in = (cut.notch.tip - cut.notch.foot).normalized();
  double deepest = -1e300, off = 1e300;
  for (const Vec2& p : stroke) {
    off = std::min(off, (p - cut.notch.tip).norm());
    deepest = std::max(deepest, (p - cut.notch.tip).dot(in));
  }
  return off < near && deepest > beyond;
}

}  // namespace chalkfold::trace
