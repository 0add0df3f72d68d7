// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>

#include "pipeline/geometry/point.h"

namespace chalkfold::geometry {

/// z of a x b: positive when b lies to the left of a.
inline double cross(const Vec2& a, const Vec2& b) { return a.x() * b.y() - a.y() * b.x(); }

/// Turned by a quarter to the left.
inline Vec2 left_of(const Vec2& v) { return {-v.y(), v.x()}; }

/// Unit vector at an angle, rad, counter-clockwise from x.
inline Vec2 unit(double angle) { return {std::cos(angle), std::sin(angle)}; }

}  // namespace chalkfold::geometry
