// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "demo/base/noise.h"
#include "demo/base/stroke_field.h"

namespace chalkfold::demo {

/// A stroke along a polyline as a hand draws it: it strays to either side by up to `wobble` mm over a few centimetres; the
/// polyline's points stay where they are. Takes one number from `random`.
Polyline hand_drawn(const Polyline& line, double wobble, Random& random);

/// The polyline with its inner corners cut to curves (corner cutting: G. Chaikin, "An algorithm for high speed curve
/// generation", 1974); the ends stay.
Polyline rounded(const Polyline& line, int rounds);

/// A filled arrow head (a triangle, twice as long as wide) as strokes side by side, its tip at `tip`.
void add_filled_head(std::vector<StrokeField::Stroke>& to, const Vec2& tip, const Vec2& direction, double length);

}  // namespace chalkfold::demo
