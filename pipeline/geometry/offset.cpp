// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/offset.h"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <limits>
#include <polyclipping/clipper.hpp>

#include "pipeline/common/check_option.h"
#include "pipeline/common/require.h"
#include "pipeline/geometry/parallel.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

Vec2 right_of(const Vec2& v) { return {v.y(), -v.x()}; }

CurveSegment straight(const Vec2& from, const Vec2& to) {
  CurveSegment s;
  s.from = from;
  s.to = to;
  return s;
}

class Offsetter {
 public:
  Offsetter(const std::vector<OffsetEdge>& edges, const OffsetOptions& options) : edges_(edges), options_(options) {}

  OffsetResult run() {
    for (const OffsetEdge& edge : edges_) result_.edges.push_back(parallel(edge));
    if (edges_.size() > 1 || has_corner())
      for (std::size_t i = 0; i < edges_.size(); ++i) join(i, (i + 1) % edges_.size());
    flatten();
    for (int i = 0; i < 40 && !self_crossings(result_.line).empty() && cut_loop(); ++i) flatten();
    inspect();
    return std::move(result_);
  }

 private:
  bool has_corner() const {
    const Curve& only = edges_.front().curve;
    return std::abs(cross(only.back().direction(1), only.front().direction(0))) > 1e-3;
  }

  Curve parallel(const OffsetEdge& edge) {
    Curve curve;
    for (const CurveSegment& s : edge.curve) {
      if (s.kind == CurveSegment::Kind::cubic && (!options_.keep_cubics || std::abs(edge.distance) > 1e-12)) {
        const double radius = least_radius(s, edge.distance < 0);  // a parallel on the inside of a bend
        if (radius <= std::abs(edge.distance)) tell(OffsetTrouble::Kind::bend_too_tight, s.at(0.5));
        const Curve parts = cubic_parallel(s, edge.distance, options_.tolerance, options_.keep_cubics);
        curve.insert(curve.end(), parts.begin(), parts.end());
        continue;
      }
      CurveSegment p = s;
      const Vec2 start = edge.distance * right_of(s.direction(0)), end = edge.distance * right_of(s.direction(1));
      p.from += start;
      p.to += end;
      if (s.kind == CurveSegment::Kind::arc && s.radius() + (s.counter_clockwise ? 1 : -1) * edge.distance <= 1e-6) {
        tell(OffsetTrouble::Kind::bend_too_tight, s.at(0.5));
        continue;  // neighbours are joined where they cross
      }
      curve.push_back(p);
    }
    close_gaps(curve);
    if (curve.empty()) curve.push_back(straight(edge.curve.front().from, edge.curve.back().to));
    return curve;
  }

  /// A swallowed bend leaves its neighbours apart: a straight line between them, crossing and all, which inspect() will find.
  static void close_gaps(Curve& curve) {
    for (std::size_t i = 0; i + 1 < curve.size(); ++i) {
      const double gap = (curve[i].to - curve[i + 1].from).norm();
      if (gap > 1e-6)
        curve.insert(curve.begin() + static_cast<std::ptrdiff_t>(i) + 1, straight(curve[i].to, curve[i + 1].from));
      else
        curve[i + 1].from = curve[i].to;
    }
  }

  void join(std::size_t i, std::size_t j) {
    Curve &before = result_.edges[i], &after = result_.edges[j];
    const Vec2 in = before.back().direction(1), out = after.front().direction(0);
    const Vec2 end = before.back().to, start = after.front().from;
    if ((end - start).norm() < 1e-9) {
      after.front().from = end;
      return;
    }
    const double turn = cross(in, out);
    const bool level = std::abs(turn) < 0.02 && in.dot(out) > 0;
    if (level) {
      if (!trim(i, j) && !shorten(before, after, in.dot(end - start))) before.push_back(straight(end, start));
      return;
    }
    // Ends that still run towards each other are carried on; ends that have passed each other are trimmed.
    const double ahead = cross(start - end, out) / turn, behind = -cross(start - end, in) / turn;
    const bool apart = ahead >= -1e-9 && behind >= -1e-9;
    if (apart && std::abs(turn) > 1e-9) {
      mitre(i, j, end + ahead * in);
      return;
    }
    if (!trim(i, j) && !shorten(before, after, in.dot(end - start))) before.push_back(straight(end, start));
  }

  /// Ends that pass each other by a little, almost in one line, so that they hardly cross: each loses half of it.
  static bool shorten(Curve& before, Curve& after, double overlap) {
    constexpr double little = 0.5;  // mm
    const double whole_before = length(before), whole_after = length(after);
    if (overlap <= 0 || overlap > little || overlap > 0.5 * std::min(whole_before, whole_after)) return false;
    if ((before.back().to - after.front().from).norm() > 1.1 * overlap) return false;  // not in one line
    before = part_between(before, 0, whole_before - 0.5 * overlap);
    after = part_between(after, 0.5 * overlap, whole_after);
    const Vec2 meet = 0.5 * (before.back().to + after.front().from);
    before.back().to = meet;
    after.front().from = meet;
    return true;
  }

  void mitre(std::size_t i, std::size_t j, const Vec2& meet) {
    Curve &before = result_.edges[i], &after = result_.edges[j];
    const Vec2 corner = edges_[i].curve.back().to, end = before.back().to, start = after.front().from;
    const double limit = options_.mitre_limit * std::max(std::abs(edges_[i].distance), std::abs(edges_[j].distance));
    if ((meet - corner).norm() <= limit || limit <= 0) {
      carry_on(before, meet);
      carry_back(after, meet);
      return;
    }
    // Cut square across the line from the corner to the meeting point.
    const Vec2 out = (meet - corner).normalized();
    const auto cut = [&](const Vec2& from) {
      const double have = out.dot(from - corner), want = std::max(limit, have);
      const double whole = out.dot(meet - from);
      return whole > 1e-12 ? Vec2(from + (want - have) / whole * (meet - from)) : from;
    };
    const Vec2 a = cut(end), b = cut(start), middle = 0.5 * (a + b);
    carry_on(before, a);
    before.push_back(straight(before.back().to, middle));
    carry_back(after, b);
    after.insert(after.begin(), straight(middle, after.front().from));
  }

  static void carry_on(Curve& curve, const Vec2& to) {
    if ((curve.back().to - to).norm() < 1e-9) return;
    if (curve.back().kind == CurveSegment::Kind::line)
      curve.back().to = to;
    else
      curve.push_back(straight(curve.back().to, to));
  }

  static void carry_back(Curve& curve, const Vec2& from) {
    if ((curve.front().from - from).norm() < 1e-9) return;
    if (curve.front().kind == CurveSegment::Kind::line)
      curve.front().from = from;
    else
      curve.insert(curve.begin(), straight(from, curve.front().from));
  }

  /// Both cut at the crossing that is nearest to the corner. False when they do not cross.
  bool trim(std::size_t i, std::size_t j) {
    Curve &before = result_.edges[i], &after = result_.edges[j];
    const Polyline a = flattened(before, 0.01), b = flattened(after, 0.01);
    std::vector<double> to_end(a.size(), 0), to_start(b.size(), 0);
    for (std::size_t k = a.size() - 1; k-- > 0;) to_end[k] = to_end[k + 1] + (a[k + 1] - a[k]).norm();
    for (std::size_t k = 1; k < b.size(); ++k) to_start[k] = to_start[k - 1] + (b[k] - b[k - 1]).norm();
    double best = std::numeric_limits<double>::max(), back = 0, forth = 0;
    for (std::size_t k = 0; k + 1 < a.size(); ++k)
      for (std::size_t m = 0; m + 1 < b.size(); ++m) {
        if (to_end[k + 1] + to_start[m] >= best) continue;
        const Vec2 u = a[k + 1] - a[k], v = b[m + 1] - b[m], w = b[m] - a[k];
        const double d = cross(u, v);
        if (std::abs(d) < 1e-15) continue;
        const double s = cross(w, v) / d, t = cross(w, u) / d;
        if (s < -1e-9 || s > 1 + 1e-9 || t < -1e-9 || t > 1 + 1e-9) continue;
        const double away = to_end[k] - s * u.norm() + to_start[m] + t * v.norm();
        if (away >= best) continue;
        best = away;
        back = to_end[k] - s * u.norm();
        forth = to_start[m] + t * v.norm();
      }
    if (best == std::numeric_limits<double>::max()) return false;
    return cut_both(before, after, back, forth);
  }

  /// The crossing to the last digit (Newton), then both curves cut there.
  static bool cut_both(Curve& before, Curve& after, double back, double forth) {
    const double whole_before = length(before), whole_after = length(after);
    double s = whole_before - back, t = forth;
    for (int k = 0; k < 20; ++k) {
      const CurvePlace p = place_along(before, s), q = place_along(after, t);
      Eigen::Matrix2d m;
      m << p.direction, -q.direction;
      if (std::abs(m.determinant()) < 1e-6) break;
      const Eigen::Vector2d step = m.inverse() * (q.point - p.point);
      if (step.norm() > 1) break;
      s += step[0];
      t += step[1];
      if (step.norm() < 1e-13) break;
    }
    s = std::clamp(s, 0.0, whole_before);
    t = std::clamp(t, 0.0, whole_after);
    if (s < 1e-6 || whole_after - t < 1e-6) return false;
    const Vec2 meet = place_along(before, s).point;
    before = part_between(before, 0, s);
    after = part_between(after, t, whole_after);
    before.back().to = meet;
    after.front().from = meet;
    return true;
  }

  void flatten() {
    result_.line.clear();
    for (const Curve& edge : result_.edges) {
      const Polyline flat = flattened(edge, 0.02);
      result_.line.insert(result_.line.end(), flat.begin(), flat.empty() ? flat.end() : flat.end() - 1);
    }
  }

  /// A point of the flattened whole: its edge and how far along it.
  struct Station {
    std::size_t edge = 0;
    double along = 0, total = 0;
  };

  std::vector<Station> stations() const {
    std::vector<Station> all;
    double total = 0;
    for (std::size_t e = 0; e < result_.edges.size(); ++e) {
      const Polyline flat = flattened(result_.edges[e], 0.02);
      double along = 0;
      for (std::size_t i = 0; i + 1 < flat.size(); ++i) {
        all.push_back({e, along, total + along});
        along += (flat[i + 1] - flat[i]).norm();
      }
      total += along;
    }
    all.push_back({0, 0, total});
    return all;
  }

  /// Cuts off the shortest loop, if it is small: within one edge or between two neighbours. False when there is none.
  bool cut_loop() {
    const std::vector<Station> at = stations();
    const Polyline& line = result_.line;
    const std::size_t n = line.size();
    double distance = 0;
    for (const OffsetEdge& edge : edges_) distance = std::max(distance, std::abs(edge.distance));
    double shortest = 8 * distance;  // mm of line in the loop: a nick or bend of up to a few times the distance
    Station from, to;
    Vec2 place = Vec2::Zero();
    bool found = false;
    for (std::size_t i = 0; i < n; ++i)
      for (std::size_t k = i + 2; k < n && at[k].total - at[i + 1].total < shortest; ++k) {
        const Vec2 u = line[(i + 1) % n] - line[i], v = line[(k + 1) % n] - line[k], w = line[k] - line[i];
        const double d = cross(u, v);
        if (std::abs(d) < 1e-15) continue;
        const double s = cross(w, v) / d, t = cross(w, u) / d;
        if (s <= 0 || s >= 1 || t <= 0 || t >= 1 || at[k].edge > at[i].edge + 1) continue;
        const double loop = at[k].total + t * v.norm() - at[i].total - s * u.norm();
        if (loop >= shortest) continue;
        shortest = loop;
        from = {at[i].edge, at[i].along + s * u.norm(), 0};
        to = {at[k].edge, at[k].along + t * v.norm(), 0};
        place = line[i] + s * u;
        found = true;
      }
    return found && cut_between(from, to, place);
  }

  bool cut_between(const Station& from, const Station& to, const Vec2& place) {
    Curve &first = result_.edges[from.edge], &last = result_.edges[to.edge];
    const double whole = length(last);
    if (from.along < 0.01 || to.along > whole - 0.01) return false;
    Curve head = part_between(first, 0, from.along), tail = part_between(last, to.along, whole);
    if (head.empty() || tail.empty()) return false;
    head.back().to = place;
    tail.front().from = place;
    if (from.edge == to.edge) {
      head.insert(head.end(), tail.begin(), tail.end());
      first = head;
    } else {
      first = head;
      last = tail;
    }
    tell(OffsetTrouble::Kind::bend_too_tight, place);
    return true;
  }

  /// Each place once.
  void tell(OffsetTrouble::Kind kind, const Vec2& at) {
    const bool told = std::any_of(result_.troubles.begin(), result_.troubles.end(),
                                  [&](const OffsetTrouble& t) { return t.kind == kind && (t.at - at).norm() < 10; });
    if (!told) result_.troubles.push_back({kind, at});
  }

  void inspect() {
    if (result_.line.size() < 3 || signed_area(result_.line) <= 0) {
      result_.troubles.push_back({OffsetTrouble::Kind::turned_over, edges_.front().curve.front().from});
      return;
    }
    for (const Vec2& at : self_crossings(result_.line)) tell(OffsetTrouble::Kind::crosses_itself, at);
  }

  const std::vector<OffsetEdge>& edges_;
  const OffsetOptions& options_;
  OffsetResult result_;
};

}  // namespace

void check(const OffsetOptions& o) {
  check_option("mitre limit", o.mitre_limit, 0, 100);
  check_option("tolerance of parallels, mm,", o.tolerance, 1e-6, 10);
}

OffsetResult offset_edges(const std::vector<OffsetEdge>& edges, const OffsetOptions& options) {
  constexpr double end_to_end = 1e-4;  // mm
  require_at_least("edges", edges.size(), 1);
  for (std::size_t i = 0; i < edges.size(); ++i) {
    const Curve &edge = edges[i].curve, &next = edges[(i + 1) % edges.size()].curve;
    require_at_least("segments of an edge", edge.size(), 1);
    require_at_least("segments of an edge", next.size(), 1);
    require_within("gap between two edges, mm,", (edge.back().to - next.front().from).norm(), 0, end_to_end);
  }
  check(options);
  return Offsetter(edges, options).run();
}

Polyline self_crossings(const Polyline& closed) {
  constexpr double grid = 1e4;  // Clipper counts in whole numbers: 0.1 um
  ClipperLib::Path path;
  for (const Vec2& p : closed) path.emplace_back(std::llround(p.x() * grid), std::llround(p.y() * grid));
  ClipperLib::Paths simple;
  ClipperLib::SimplifyPolygon(path, simple, ClipperLib::pftNonZero);
  Polyline crossings;
  // rounded alike: that of long pieces is mm2 off
  const double whole = std::abs(ClipperLib::Area(path)) / (grid * grid);
  double area = 0;
  std::size_t parts = 0;
  for (const ClipperLib::Path& p : simple) {
    area += ClipperLib::Area(p) / (grid * grid);
    if (std::abs(ClipperLib::Area(p)) / (grid * grid) > 0.05)
      ++parts;  // mm2; less is rounding where an edge touches itself
  }
  if (parts == 1 && std::abs(area - whole) < 0.05) return crossings;
  for (const ClipperLib::Path& p : simple)
    for (const ClipperLib::IntPoint& q : p) {
      const Vec2 at(static_cast<double>(q.X) / grid, static_cast<double>(q.Y) / grid);
      const bool given =
          std::any_of(closed.begin(), closed.end(), [&](const Vec2& c) { return (c - at).norm() < 1e-3; });
      const bool told =
          std::any_of(crossings.begin(), crossings.end(), [&](const Vec2& c) { return (c - at).norm() < 1; });
      if (!given && !told) crossings.push_back(at);
    }
  if (crossings.empty()) crossings.push_back(centroid(closed));
  return crossings;
}

Curve part_between(const Curve& curve, double from, double to) {
  constexpr double rounding = 1e-6;  // mm
  require_at_least("start of the part, mm,", from, -rounding);
  require_above("end of the part, mm,", to, from);
  Curve part;
  double station = 0;
  for (const CurveSegment& s : curve) {
    const double here = s.length(), start = std::max(0.0, from - station), end = std::min(here, to - station);
    station += here;
    if (end - start <= 1e-9) continue;
    CurveSegment piece = s;
    if (end < here - 1e-12) piece = first_part(piece, parameter_at(piece, end));
    if (start > 1e-12) {
      const CurveSegment back = reversed(piece);
      piece = reversed(first_part(back, parameter_at(back, end - start)));
    }
    part.push_back(piece);
  }
  require_within("end of the part, mm,", to, from, station + rounding);
  return part;
}

}  // namespace chalkfold::geometry
