// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>
#include <numbers>
#include <random>

#include "pipeline/geometry/curve.h"
#include "pipeline/panel/panel.h"

namespace chalkfold::drawn {

inline geometry::CurveSegment line(const Vec2& from, const Vec2& to) {
  geometry::CurveSegment s;
  s.from = from;
  s.to = to;
  return s;
}

inline geometry::CurveSegment arc(const Vec2& from, const Vec2& to, const Vec2& centre, bool counter_clockwise = true) {
  geometry::CurveSegment s = line(from, to);
  s.kind = geometry::CurveSegment::Kind::arc;
  s.centre = centre;
  s.counter_clockwise = counter_clockwise;
  return s;
}

/// Closed polygon, its corners rounded by `radius` (0: sharp). Corners counter-clockwise.
inline geometry::Curve polygon(const Polyline& corners, double radius = 0) {
  geometry::Curve curve;
  const std::size_t n = corners.size();
  const auto rounded = [&](std::size_t i) {  // arc at corner i
    const Vec2 in = (corners[i] - corners[(i + n - 1) % n]).normalized(),
               out = (corners[(i + 1) % n] - corners[i]).normalized();
    const double turn = std::atan2(in.x() * out.y() - in.y() * out.x(), in.dot(out));
    const double back = radius * std::tan(std::abs(turn) / 2);
    const Vec2 from = corners[i] - back * in, left(-in.y(), in.x());
    return arc(from, corners[i] + back * out, from + (turn > 0 ? radius : -radius) * left, turn > 0);
  };
  for (std::size_t i = 0; i < n; ++i) {
    if (radius <= 0) {
      curve.push_back(line(corners[i], corners[(i + 1) % n]));
      continue;
    }
    const geometry::CurveSegment here = rounded(i), next = rounded((i + 1) % n);
    curve.push_back(here);
    curve.push_back(line(here.to, next.from));
  }
  return curve;
}

inline geometry::Curve rectangle(double a, double b) { return polygon({{0, 0}, {a, 0}, {a, b}, {0, b}}); }
inline geometry::Curve circle(double r) { return {arc({r, 0}, {-r, 0}, {0, 0}), arc({-r, 0}, {r, 0}, {0, 0})}; }
inline geometry::Curve stadium(double straight, double r) {
  return {line({0, -r}, {straight, -r}), arc({straight, -r}, {straight, r}, {straight, 0}), line({straight, r}, {0, r}),
          arc({0, r}, {0, -r}, {0, 0})};
}
inline geometry::Curve rounded_trapezoid() { return polygon({{0, 0}, {420, 0}, {360, 280}, {60, 280}}, 30); }
inline geometry::Curve star(double outer, double inner) {
  Polyline corners;
  for (int i = 0; i < 10; ++i) {
    const double angle = std::numbers::pi * i / 5 + std::numbers::pi / 2;
    corners.push_back((i % 2 ? inner : outer) * Vec2(std::cos(angle), std::sin(angle)));
  }
  return polygon(corners);
}

/// Measured as a photo would: a point a millimetre, moved along the normal by white noise of `sigma` mm.
inline panel::Contour measured(const geometry::Curve& shape, double sigma, std::uint32_t seed = 1) {
  panel::Contour contour;
  std::mt19937 random(seed);
  const double round = geometry::length(shape);
  const auto count = static_cast<std::size_t>(round);
  for (std::size_t i = 0; i < count; ++i) {
    const geometry::CurvePlace place =
        geometry::place_along(shape, round * (static_cast<double>(i) + 0.37) / static_cast<double>(count));
    double sum = 0;  // of twelve uniform numbers: normal enough, and the same with every library
    for (int k = 0; k < 12; ++k) sum += random() / 4294967296.0;
    contour.points.push_back(place.point + sigma * (sum - 6) * Vec2(-place.direction.y(), place.direction.x()));
    contour.sigma.push_back(std::max(sigma, 0.02));
    contour.U.push_back(2 * std::max(sigma, 0.02));
  }
  return contour;
}

}  // namespace chalkfold::drawn
