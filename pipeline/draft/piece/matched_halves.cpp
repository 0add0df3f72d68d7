// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/matched_halves.h"

#include <algorithm>
#include <cmath>

#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/segment.h"

namespace chalkfold::draft {
namespace {

/// Corners this near to the axis lie on it.
constexpr double on_axis = 4;  // mm

void fill_stations(Half& half) {
  half.stations = {0};
  for (std::size_t i = 1; i < half.path.points.size(); ++i)
    half.stations.push_back(half.stations.back() + (half.path.points[i] - half.path.points[i - 1]).norm());
}

Vec2 flipped(const Vec2& p) { return {-p.x(), p.y()}; }

struct Crossing {
  /// between point after and the next
  std::size_t after = 0;
  double share = 0;
  double y = 0;
};

std::vector<Crossing> crossings(const Polyline& closed) {
  std::vector<Crossing> all;
  for (std::size_t i = 0; i < closed.size(); ++i) {
    const Vec2 &a = closed[i], &b = closed[(i + 1) % closed.size()];
    if ((a.x() < 0) == (b.x() < 0)) continue;
    const double share = a.x() / (a.x() - b.x());
    all.push_back({i, share, a.y() + share * (b.y() - a.y())});
  }
  return all;
}

/// The outline from one crossing on to another.
Half stretch(const panel::Contour& outline, const Crossing& from, const Crossing& to) {
  Half half;
  const std::size_t n = outline.points.size();
  const auto add = [&](const Vec2& p, std::size_t like) {
    if (!half.path.points.empty() && (half.path.points.back() - p).norm() < 1e-6) return;
    half.path.points.push_back(p);
    half.path.sigma.push_back(outline.sigma[like]);
    half.path.U.push_back(outline.U[like]);
  };
  add({0, from.y}, from.after);
  for (std::size_t i = (from.after + 1) % n;; i = (i + 1) % n) {
    add(outline.points[i], i);
    if (i == to.after) break;
  }
  if ((half.path.points.back() - Vec2(0, to.y)).norm() < 1e-6)
    half.path.points.back() = {0, to.y};
  else
    add({0, to.y}, to.after);
  return half;
}

void mirror(Half& half) {
  for (Vec2& p : half.path.points) p = flipped(p);
  std::reverse(half.path.points.begin(), half.path.points.end());
  std::reverse(half.path.sigma.begin(), half.path.sigma.end());
  std::reverse(half.path.U.begin(), half.path.U.end());
}

double station_near(const Half& half, const Vec2& p) {
  return geometry::nearest_on_line(half.path.points, p, false).along;
}

void hand_out(Half& half, std::vector<geometry::OutlineCorner> corners, std::vector<OutlineMark> marks, bool mirrored) {
  for (geometry::OutlineCorner& corner : corners) {
    if (mirrored) corner.point = flipped(corner.point);
    corner.along = station_near(half, corner.point);
    const bool at_start = (corner.point - half.path.points.front()).norm() < on_axis,
               at_end = (corner.point - half.path.points.back()).norm() < on_axis;
    half.corner_at_start = half.corner_at_start || at_start;
    half.corner_at_end = half.corner_at_end || at_end;
    if (!at_start && !at_end && corner.point.x() >= 0) half.corners.push_back(corner);
  }
  std::sort(half.corners.begin(), half.corners.end(), [](const auto& a, const auto& b) { return a.along < b.along; });
  std::vector<std::pair<double, OutlineMark>> placed;
  for (OutlineMark& mark : marks) {
    if (mirrored) mark.foot = flipped(mark.foot);
    if (mark.foot.x() < (mirrored ? 1e-9 : 0)) continue;  // a mark on the axis itself belongs to the right half
    placed.emplace_back(station_near(half, mark.foot), mark);
  }
  std::stable_sort(placed.begin(), placed.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  for (const auto& [station, mark] : placed) {
    half.mark_stations.push_back(station);
    half.marks.push_back(mark);
  }
}

double interpolate(const std::vector<Anchor>& anchors, double station, double Anchor::*from, double Anchor::*to) {
  for (std::size_t i = 0; i + 1 < anchors.size(); ++i) {
    const double low = anchors[i].*from, high = anchors[i + 1].*from;
    if (station > high && i + 2 < anchors.size()) continue;
    const double share = high > low ? (station - low) / (high - low) : 0;
    return anchors[i].*to + std::clamp(share, 0.0, 1.0) * (anchors[i + 1].*to - anchors[i].*to);
  }
  return station;
}

void match_corners(const Half& right, const Half& left, std::vector<Anchor>& anchors) {
  const double reach = std::max(20.0, 0.06 * right.length());
  std::size_t next = 0;
  for (std::size_t i = 0; i < right.corners.size(); ++i) {
    const geometry::OutlineCorner& corner = right.corners[i];
    std::size_t best = left.corners.size();
    double nearest = reach;
    for (std::size_t k = next; k < left.corners.size(); ++k) {
      // A mirrored path is run through backwards: a corner keeps its turn.
      if (corner.turn * left.corners[k].turn <= 0 || (left.corners[k].point - corner.point).norm() >= nearest) continue;
      nearest = (left.corners[k].point - corner.point).norm();
      best = k;
    }
    if (best == left.corners.size()) continue;
    anchors.push_back({corner.along, left.corners[best].along, true, i});
    next = best + 1;
  }
}

/// Marks between two anchors, when both sides have as many and none is far from where its fellow says.
void match_marks(const Half& right, const Half& left, const Anchor& from, const Anchor& to,
                 std::vector<Anchor>& anchors) {
  std::vector<double> r, l;
  for (const double s : right.mark_stations)
    if (s > from.right + 3 && s < to.right - 3) r.push_back(s);
  for (const double s : left.mark_stations)
    if (s > from.left + 3 && s < to.left - 3) l.push_back(s);
  if (r.size() != l.size()) return;
  constexpr double reach = 15;  // mm, that wear moves a mark along its edge
  for (std::size_t i = 0; i < r.size(); ++i) {
    const double expected = from.left + (r[i] - from.right) / (to.right - from.right) * (to.left - from.left);
    if (std::abs(expected - l[i]) > reach) return;
  }
  for (std::size_t i = 0; i < r.size(); ++i)
    if (anchors.empty() || (r[i] > anchors.back().right + 1 && l[i] > anchors.back().left + 1))
      anchors.push_back({r[i], l[i], false, {}});
}

struct MeanHalf {
  /// without corners and marks
  Half half;
  /// of every anchor, its point on the half
  std::vector<std::size_t> points;
};

MeanHalf mean(const Half& right, const Half& left, const std::vector<Anchor>& anchors) {
  MeanHalf result;
  Half& half = result.half;
  half.corner_at_start = right.corner_at_start || left.corner_at_start;
  half.corner_at_end = right.corner_at_end || left.corner_at_end;
  const auto value = [](const Half& h, const std::vector<double>& of, double station) {
    const auto i =
        static_cast<std::size_t>(std::lower_bound(h.stations.begin(), h.stations.end(), station) - h.stations.begin());
    return of[std::min(i, of.size() - 1)];
  };
  for (std::size_t k = 0; k + 1 < anchors.size(); ++k) {
    const double r = anchors[k + 1].right - anchors[k].right, l = anchors[k + 1].left - anchors[k].left;
    const int count = std::max(1, static_cast<int>(std::ceil(std::max(r, l))));
    for (int i = k == 0 ? 0 : 1; i <= count; ++i) {
      const double share = static_cast<double>(i) / count, sr = anchors[k].right + share * r,
                   sl = anchors[k].left + share * l;
      half.path.points.push_back(0.5 * (right.at(sr) + left.at(sl)));
      half.path.sigma.push_back(0.5 * std::hypot(value(right, right.path.sigma, sr), value(left, left.path.sigma, sl)));
      half.path.U.push_back(0.5 * (value(right, right.path.U, sr) +
                                   value(left, left.path.U, sl)));  // the survey's share is common to both
    }
    if (k == 0) result.points.push_back(0);
    result.points.push_back(half.path.points.size() - 1);
  }
  fill_stations(half);
  return result;
}

}  // namespace

double Half::length() const {
  require_at_least("stations of the half", stations.size(), 1);
  return stations.back();
}

Vec2 Half::at(double station) const {
  require_at_least("points of the half", path.points.size(), 1);
  require_equal("stations of the half", stations.size(), path.points.size());
  const auto next =
      static_cast<std::size_t>(std::upper_bound(stations.begin(), stations.end(), station) - stations.begin());
  if (next == 0) return path.points.front();
  if (next >= stations.size()) return path.points.back();
  const double share = (station - stations[next - 1]) / (stations[next] - stations[next - 1]);
  return path.points[next - 1] + share * (path.points[next] - path.points[next - 1]);
}

bool cut_into_halves(const panel::Contour& outline, const std::vector<geometry::OutlineCorner>& corners,
                     const std::vector<OutlineMark>& marks, Half& right, Half& left) {
  require_equal("sigmas of the outline", outline.sigma.size(), outline.points.size());
  require_equal("U of the outline", outline.U.size(), outline.points.size());
  const std::vector<Crossing> all = crossings(outline.points);
  if (all.size() < 2) return false;
  const auto [low, high] =
      std::minmax_element(all.begin(), all.end(), [](const Crossing& a, const Crossing& b) { return a.y < b.y; });
  right = stretch(outline, *low, *high);
  left = stretch(outline, *high, *low);
  mirror(left);
  for (Half* half : {&right, &left}) {
    fill_stations(*half);
    hand_out(*half, corners, marks, half == &left);
  }
  return right.length() > 1 && left.length() > 1;
}

std::vector<Anchor> matched(const Half& right, const Half& left) {
  std::vector<Anchor> corners{{0, 0, right.corner_at_start || left.corner_at_start, {}}};
  match_corners(right, left, corners);
  corners.push_back({right.length(), left.length(), right.corner_at_end || left.corner_at_end, {}});
  std::vector<Anchor> all;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    all.push_back(corners[i]);
    if (i + 1 < corners.size()) match_marks(right, left, corners[i], corners[i + 1], all);
  }
  return all;
}

double right_from_left(const std::vector<Anchor>& anchors, double station) {
  return interpolate(anchors, station, &Anchor::left, &Anchor::right);
}
double left_from_right(const std::vector<Anchor>& anchors, double station) {
  return interpolate(anchors, station, &Anchor::right, &Anchor::left);
}

Half folded(const Half& right, const Half& left, const std::vector<Anchor>& anchors, Fold fold) {
  if (fold == Fold::right) return right;
  if (fold == Fold::left) return left;
  require_at_least("anchors", anchors.size(), 2);
  require_equal("stations of the right half's marks", right.mark_stations.size(), right.marks.size());
  require_equal("stations of the left half's marks", left.mark_stations.size(), left.marks.size());
  auto [half, points] = mean(right, left, anchors);
  std::vector<Anchor> to_mean;  // right: station on the right half; left: on the mean
  for (std::size_t k = 0; k < anchors.size(); ++k) {
    const double station = half.stations[points[k]];
    to_mean.push_back({anchors[k].right, station, anchors[k].corner, anchors[k].right_corner});
    if (!anchors[k].right_corner) continue;
    require_index("corner of an anchor", *anchors[k].right_corner, right.corners.size());
    half.corners.push_back({station, half.at(station), right.corners[*anchors[k].right_corner].turn});
  }
  std::vector<bool> used(left.marks.size(), false);
  std::vector<std::pair<double, OutlineMark>> placed;
  for (std::size_t i = 0; i < right.marks.size(); ++i) {
    OutlineMark mark = right.marks[i];
    const double here = left_from_right(to_mean, right.mark_stations[i]),
                 fellow = left_from_right(anchors, right.mark_stations[i]);
    std::size_t best = left.marks.size();
    double nearest = 15;  // mm, as match_marks
    for (std::size_t k = 0; k < left.marks.size(); ++k)
      if (!used[k] && left.marks[k].kind == mark.kind && std::abs(left.mark_stations[k] - fellow) < nearest) {
        nearest = std::abs(left.mark_stations[k] - fellow);
        best = k;
      }
    double place = here;
    mark.origin = right.mark_stations[i] < 0.5 || right.mark_stations[i] > right.length() - 0.5 ? MarkOrigin::measured
                                                                                                : MarkOrigin::mirrored;
    if (best < left.marks.size()) {
      used[best] = true;
      mark.origin = MarkOrigin::averaged;
      mark.depth = 0.5 * (mark.depth + left.marks[best].depth);
      place = 0.5 * (here + left_from_right(to_mean, right_from_left(anchors, left.mark_stations[best])));
    }
    placed.emplace_back(place, mark);
  }
  for (std::size_t k = 0; k < left.marks.size(); ++k) {
    if (used[k]) continue;
    placed.emplace_back(left_from_right(to_mean, right_from_left(anchors, left.mark_stations[k])), left.marks[k]);
    placed.back().second.origin = MarkOrigin::mirrored;
    placed.back().second.group.on_left = true;
  }
  std::stable_sort(placed.begin(), placed.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  for (auto& [place, mark] : placed) {
    mark.foot = half.at(place);
    half.mark_stations.push_back(place);
    half.marks.push_back(mark);
  }
  return half;
}

}  // namespace chalkfold::draft
