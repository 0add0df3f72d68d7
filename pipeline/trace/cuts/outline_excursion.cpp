// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/cuts/outline_excursion.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace chalkfold::trace {
namespace {

// fitted: no source but the corners, steps and bays that find_excursions leaves (its tests), and the notches found, as
// chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double step = 1;            // mm between the places tried as a mouth's sides, and between outline points
constexpr double most_mouth = 14;     // mm, chord across: the widest notch, and where the fit rounded its sides
constexpr double most_way = 34;       // mm along the outline: both sides of the deepest notch, and more; fitted
constexpr double least_way = 4;       // mm: less is fray
constexpr double least_detour = 1.2;  // way over chord: a V half as deep as wide has 1.41, a bend much less; fitted
constexpr double arm = 12;            // mm either side over which the course is read, as for corners
constexpr double most_bow = 1;        // mm of either: an edge of 18 mm radius bows as much, a step's corner more
constexpr double most_turn = 0.45;    // rad between the courses before and after: less than a corner's
constexpr double most_offset = 1.6;   // mm of either course from the other at the mouth: what the fit rounds; fitted
constexpr double way_cost = 0.1;      // of the way saved, for each mm of way: of equals, the shorter mouth
constexpr double no_chord = 1e-9;     // mm

double cross(const Vec2& a, const Vec2& b) { return a.x() * b.y() - a.y() * b.x(); }

/// mm that the middle of an arm lies off the line through its ends.
double bow(const Polyline& even, std::size_t from, std::size_t reach) {
  const std::size_t n = even.size();
  const Vec2 &a = even[from % n], &middle = even[(from + reach / 2) % n], &b = even[(from + reach) % n];
  return std::abs(cross((b - a).normalized(), middle - a));
}

/// The mouth of `way` mm from `from` on, when the outline's course goes on across it.
std::optional<OutlineExcursion> across_from(const Polyline& even, std::size_t from, std::size_t way) {
  constexpr auto reach = static_cast<std::size_t>(arm / step);
  const std::size_t n = even.size();
  const Vec2 &a = even[from], &b = even[(from + way) % n];
  const Vec2 chord = b - a;
  const double run = chord.norm();
  if (run > most_mouth || run < no_chord || static_cast<double>(way) * step < least_detour * run) return std::nullopt;
  const Vec2 before = (a - even[(from + n - reach) % n]).normalized(),
             after = (even[(from + way + reach) % n] - b).normalized();
  if (before.dot(after) < std::cos(most_turn)) return std::nullopt;
  if (bow(even, from + n - reach, reach) > most_bow || bow(even, from + way, reach) > most_bow) return std::nullopt;
  // Over a long mouth an edge may curve; across both sides together it may not step.
  const Vec2 course = (before + after).normalized();
  if (std::abs(cross(course, chord)) > most_offset) return std::nullopt;
  OutlineExcursion e;
  e.from = static_cast<double>(from) * step;
  e.to = static_cast<double>(from + way) * step;
  e.mouth_from = a;
  e.mouth_to = b;
  return e;
}

}  // namespace

std::vector<OutlineExcursion> find_excursions(const geometry::ClosedOutline& outline) {
  Polyline even;
  for (double s = 0; s < outline.length(); s += step) even.push_back(outline.at(s).point);
  constexpr auto shortest = static_cast<std::size_t>(least_way / step),
                 longest = static_cast<std::size_t>(most_way / step);
  std::vector<OutlineExcursion> out;
  if (even.size() < 4 * longest) return out;  // too small a panel for a notch on each of two sides
  const auto detour = [](const OutlineExcursion& e) { return e.to - e.from - (e.mouth_to - e.mouth_from).norm(); };
  const auto overlap = [&](const OutlineExcursion& a, const OutlineExcursion& b) {
    for (const double turn : {-outline.length(), 0.0, outline.length()}) {
      if (a.from + turn < b.to && b.from < a.to + turn) return true;
    }
    return false;
  };
  std::vector<OutlineExcursion> found;
  for (std::size_t from = 0; from < even.size(); ++from) {
    for (std::size_t way = shortest; way <= longest; ++way) {
      if (const auto e = across_from(even, from, way)) found.push_back(*e);
    }
  }
  // The whole of a notch saves more of the way than a part of it; of equals, the shorter mouth.
  std::stable_sort(found.begin(), found.end(), [&](const OutlineExcursion& a, const OutlineExcursion& b) {
    return detour(a) - way_cost * (a.to - a.from) > detour(b) - way_cost * (b.to - b.from);
  });
  for (const OutlineExcursion& e : found) {
    if (std::none_of(out.begin(), out.end(), [&](const OutlineExcursion& kept) { return overlap(e, kept); }))
      out.push_back(e);
  }
  std::sort(out.begin(), out.end(), [](const auto& a, const auto& b) { return a.from < b.from; });
  return out;
}

panel::Contour led_across(const panel::Contour& contour, const std::vector<OutlineExcursion>& excursions) {
  if (excursions.empty()) return contour;
  const geometry::ClosedOutline ruler(contour.points);
  const double total = ruler.length();
  panel::Contour out;
  const auto add = [&](const Vec2& p, std::size_t like) {
    out.points.push_back(p);
    out.sigma.push_back(contour.sigma[like]);
    out.U.push_back(contour.U[like]);
  };
  double arc = 0;
  for (std::size_t i = 0; i < contour.points.size(); ++i) {
    if (i > 0) arc += (contour.points[i] - contour.points[i - 1]).norm();
    const auto within = std::find_if(excursions.begin(), excursions.end(), [&](const OutlineExcursion& e) {
      return (arc > e.from && arc < e.to) || (arc + total > e.from && arc + total < e.to);
    });
    if (within == excursions.end()) {
      add(contour.points[i], i);
      continue;
    }
    // The first point inside stands for the whole chord.
    const double before = i > 0 ? (contour.points[i] - contour.points[i - 1]).norm() : 0;
    const bool entering = arc > within->from && arc - before <= within->from;
    if (!entering) continue;
    const Vec2 chord = within->mouth_to - within->mouth_from;
    const int count = std::max(1, static_cast<int>(std::lround(chord.norm() / step)));
    for (int k = 0; k <= count; ++k)
      add(within->mouth_from + chord * (static_cast<double>(k) / count), i > 0 ? i - 1 : 0);
  }
  return out;
}

}  // namespace chalkfold::trace
