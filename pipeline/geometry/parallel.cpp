// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/parallel.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

CurveSegment straight(const Vec2& from, const Vec2& to) {
  CurveSegment s;
  s.from = from;
  s.to = to;
  return s;
}

/// The arc that leaves `from` along `heading` and ends at `to`; a line when they are in one.
CurveSegment arc_along(const Vec2& from, const Vec2& heading, const Vec2& to) {
  CurveSegment s = straight(from, to);
  const Vec2 w = to - from;
  const double rise = left_of(heading).dot(w);
  if (std::abs(rise) < 1e-9 * std::max(1.0, w.norm())) return s;
  s.kind = CurveSegment::Kind::arc;
  s.centre = from + w.squaredNorm() / (2 * rise) * left_of(heading);
  s.counter_clockwise = rise > 0;
  return s;
}

/// A stretch of the cubic between two parameters and its parallel.
class Parallel {
 public:
  Parallel(const CurveSegment& cubic, double distance, double tolerance, bool as_cubics)
      : cubic_(cubic), distance_(distance), tolerance_(tolerance), as_cubics_(as_cubics) {}

  void add(Curve& curve, double from, double to, int depth) const {
    const Curve tried = as_cubics_ ? one_cubic(from, to) : biarc(from, to);
    if (depth >= 12 || (!tried.empty() && departure(tried, from, to) <= tolerance_)) {
      curve.insert(curve.end(), tried.begin(), tried.end());
      return;
    }
    const double middle = 0.5 * (from + to);
    add(curve, from, middle, depth + 1);
    add(curve, middle, to, depth + 1);
  }

 private:
  Vec2 at(double t) const { return cubic_.at(t) - distance_ * left_of(cubic_.direction(t)); }

  Curve biarc(double from, double to) const {
    const Vec2 p = at(from), q = at(to), a = cubic_.direction(from), b = cubic_.direction(to), v = q - p, sum = a + b;
    const double second = 2 * (a.dot(b) - 1), first = -2 * v.dot(sum), free = v.squaredNorm();
    const double root = first * first - 4 * second * free;
    if (root < 0) return {straight(p, q)};
    const double reach = std::abs(second) < 1e-12 ? -free / first : (-first - std::sqrt(root)) / (2 * second);
    if (!(reach > 0) || !std::isfinite(reach)) return {straight(p, q)};
    const Vec2 middle = 0.5 * (p + reach * a + q - reach * b);
    return {arc_along(p, a, middle), reversed(arc_along(q, -b, middle))};
  }

  Curve one_cubic(double from, double to) const {
    CurveSegment c = straight(at(from), at(to));
    c.kind = CurveSegment::Kind::cubic;
    const auto handle = [&](double t) {  // a third of the parallel's speed times the stretch
      constexpr double step = 1e-5;
      const double low = std::max(0.0, t - step), high = std::min(1.0, t + step);
      return (at(high) - at(low)).norm() / (high - low) * (to - from) / 3;
    };
    c.control1 = c.from + handle(from) * cubic_.direction(from);
    c.control2 = c.to - handle(to) * cubic_.direction(to);
    return {c};
  }

  double departure(const Curve& tried, double from, double to) const {
    double largest = 0;
    const Polyline path = as_cubics_ ? flattened(tried, 0.1 * tolerance_) : Polyline{};
    for (int i = 1; i < 8; ++i) {
      const Vec2 p = at(from + (to - from) * i / 8);
      largest = std::max(largest, as_cubics_ ? distance_to(path, p, false) : off_arcs(tried, p));
    }
    return largest;
  }

  static double off_arcs(const Curve& tried, const Vec2& p) {
    const CurveSegment& s =
        tried.size() > 1 && tried.front().direction(1).dot(p - tried.front().to) > 0 ? tried.back() : tried.front();
    if (s.kind == CurveSegment::Kind::arc) return std::abs((p - s.centre).norm() - s.radius());
    return std::abs(cross(s.direction(0), p - s.from));
  }

  const CurveSegment& cubic_;
  double distance_, tolerance_;
  bool as_cubics_;
};

}  // namespace

Curve cubic_parallel(const CurveSegment& cubic, double distance, double tolerance, bool as_cubics) {
  require(cubic.kind == CurveSegment::Kind::cubic, "the segment is no cubic");
  require_above("tolerance, mm,", tolerance, 0);
  Curve curve;
  Parallel(cubic, distance, tolerance, as_cubics).add(curve, 0, 1, 0);
  return curve;
}

double least_radius(const CurveSegment& s, bool to_the_left) {
  double least = std::numeric_limits<double>::infinity();
  for (int i = 0; i <= 64; ++i) {
    const double t = i / 64.0, u = 1 - t;
    const Vec2 first =
        3 * (u * u * (s.control1 - s.from) + 2 * u * t * (s.control2 - s.control1) + t * t * (s.to - s.control2));
    const Vec2 second = 6 * (u * (s.control2 - 2 * s.control1 + s.from) + t * (s.to - 2 * s.control2 + s.control1));
    const double bend = cross(first, second) * (to_the_left ? 1 : -1), speed = first.norm();
    if (bend > 1e-12) least = std::min(least, speed * speed * speed / bend);
  }
  return least;
}

}  // namespace chalkfold::geometry
