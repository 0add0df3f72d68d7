// SPDX-License-Identifier: Apache-2.0
#include "pipeline/geometry/curve.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/common/require.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::geometry {
namespace {

double angle_of(const Vec2& v) { return std::atan2(v.y(), v.x()); }

/// A cubic's longest chord error is bounded by its second differences (Wang 1984): parts needed for `tolerance`.
int cubic_parts(const CurveSegment& s, double tolerance) {
  const double bend =
      std::max((s.from - 2 * s.control1 + s.control2).norm(), (s.control1 - 2 * s.control2 + s.to).norm());
  return std::max(1, static_cast<int>(std::ceil(std::sqrt(0.75 * bend / tolerance))));
}

int arc_parts(const CurveSegment& s, double tolerance) {
  const double radius = std::max(s.radius(), 1e-9);
  const double step = 2 * std::acos(std::clamp(1 - tolerance / radius, 0.0, 1.0));
  return std::max(1, static_cast<int>(std::ceil(std::abs(s.turned()) / std::max(step, 1e-4) - 1e-9)));
}

int parts(const CurveSegment& s, double tolerance) {
  switch (s.kind) {
    case CurveSegment::Kind::line:
      return 1;
    case CurveSegment::Kind::arc:
      return arc_parts(s, tolerance);
    case CurveSegment::Kind::cubic:
      return cubic_parts(s, tolerance);
  }
  return 1;
}

Vec2 cubic_derivative(const CurveSegment& s, double t) {
  const double u = 1 - t;
  return 3 * (u * u * (s.control1 - s.from) + 2 * u * t * (s.control2 - s.control1) + t * t * (s.to - s.control2));
}

/// Length of a cubic: Gauss-Legendre with five points on each of 16 parts.
double cubic_length(const CurveSegment& s) {
  constexpr int count = 16;
  constexpr double place[] = {-0.906179845938664, -0.538469310105683, 0.0, 0.538469310105683, 0.906179845938664};
  constexpr double weight[] = {0.236926885056189, 0.478628670499366, 0.568888888888889, 0.478628670499366,
                               0.236926885056189};
  double sum = 0;
  for (int part = 0; part < count; ++part)
    for (int i = 0; i < 5; ++i) sum += weight[i] * cubic_derivative(s, (part + 0.5 + 0.5 * place[i]) / count).norm();
  return sum / (2 * count);
}

Vec2 image(const Vec2& p, const Vec2& point, const Vec2& direction) {
  return point + 2 * direction.dot(p - point) * direction - (p - point);
}

}  // namespace

double CurveSegment::turned() const {
  double turn = angle_of(to - centre) - angle_of(from - centre);
  constexpr double full = 2 * std::numbers::pi;
  if (counter_clockwise && turn <= 0) turn += full;
  if (!counter_clockwise && turn >= 0) turn -= full;
  return turn;
}

Vec2 CurveSegment::at(double t) const {
  if (t <= 0) return from;
  if (t >= 1) return to;
  switch (kind) {
    case Kind::line:
      return from + t * (to - from);
    case Kind::arc: {
      const double angle = angle_of(from - centre) + t * turned();
      return centre + radius() * Vec2(std::cos(angle), std::sin(angle));
    }
    case Kind::cubic: {
      const double u = 1 - t;
      return u * u * u * from + 3 * u * u * t * control1 + 3 * u * t * t * control2 + t * t * t * to;
    }
  }
  return to;
}

Vec2 CurveSegment::direction(double t) const {
  switch (kind) {
    case Kind::line:
      return (to - from).normalized();
    case Kind::arc: {
      const Vec2 out = (at(t) - centre).normalized();
      return counter_clockwise ? left_of(out) : Vec2(-left_of(out));
    }
    case Kind::cubic: {
      const Vec2 along = cubic_derivative(*this, t);
      return along.norm() > 1e-12 ? Vec2(along.normalized()) : Vec2((to - from).normalized());
    }
  }
  return Vec2::UnitX();
}

double CurveSegment::length() const {
  switch (kind) {
    case Kind::line:
      return (to - from).norm();
    case Kind::arc:
      return radius() * std::abs(turned());
    case Kind::cubic:
      return cubic_length(*this);
  }
  return 0;
}

Polyline flattened(const Curve& curve, double tolerance) {
  require_above("tolerance, mm,", tolerance, 0);
  Polyline points;
  if (curve.empty()) return points;
  points.push_back(curve.front().from);
  for (const CurveSegment& s : curve) {
    const int count = parts(s, tolerance);
    for (int i = 1; i <= count; ++i) points.push_back(s.at(static_cast<double>(i) / count));
  }
  return points;
}

double length(const Curve& curve) {
  double sum = 0;
  for (const CurveSegment& s : curve) sum += s.length();
  return sum;
}

CurveSegment reversed(const CurveSegment& segment) {
  CurveSegment r = segment;
  std::swap(r.from, r.to);
  std::swap(r.control1, r.control2);
  r.counter_clockwise = !segment.counter_clockwise;
  return r;
}

Curve reversed(const Curve& curve) {
  Curve r;
  for (auto s = curve.rbegin(); s != curve.rend(); ++s) r.push_back(reversed(*s));
  return r;
}

CurveSegment mirrored(const CurveSegment& segment, const Vec2& point, const Vec2& direction) {
  CurveSegment m = segment;
  for (Vec2 CurveSegment::*p : {&CurveSegment::from, &CurveSegment::to, &CurveSegment::centre, &CurveSegment::control1,
                                &CurveSegment::control2})
    m.*p = image(segment.*p, point, direction);
  m.counter_clockwise = !segment.counter_clockwise;
  return m;
}

double parameter_at(const CurveSegment& segment, double along) {
  const double whole = segment.length();
  if (segment.kind != CurveSegment::Kind::cubic) return whole > 0 ? std::clamp(along / whole, 0.0, 1.0) : 0;
  if (along <= 0 || along >= whole) return along <= 0 ? 0 : 1;
  double low = 0, high = 1;
  for (int k = 0; k < 52; ++k) {
    const double middle = 0.5 * (low + high);
    (first_part(segment, middle).length() < along ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

CurvePlace place_along(const Curve& curve, double along) {
  require_at_least("segments of the curve", curve.size(), 1);
  for (std::size_t i = 0; i < curve.size(); ++i) {
    const double here = curve[i].length();
    if (along > here && i + 1 < curve.size()) {
      along -= here;
      continue;
    }
    const double t = parameter_at(curve[i], along);
    return {curve[i].at(t), curve[i].direction(t)};
  }
  return {};
}

CurveSegment first_part(const CurveSegment& s, double t) {
  require(t > 0 && t <= 1, "t is not in (0, 1]");
  CurveSegment part = s;
  part.to = s.at(t);
  if (s.kind == CurveSegment::Kind::cubic) {  // de Casteljau
    const Vec2 a = s.from + t * (s.control1 - s.from), b = s.control1 + t * (s.control2 - s.control1);
    part.control1 = a;
    part.control2 = a + t * (b - a);
  }
  return part;
}

}  // namespace chalkfold::geometry
