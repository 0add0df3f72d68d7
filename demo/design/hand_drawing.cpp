// SPDX-License-Identifier: Apache-2.0
#include "demo/design/hand_drawing.h"

#include <algorithm>

namespace chalkfold::demo {

Polyline hand_drawn(const Polyline& line, double wobble, Random& random) {
  constexpr double stretch_mm = 6;
  Polyline drawn;
  const auto seed = static_cast<std::uint32_t>(random.next());
  for (std::size_t i = 1; i < line.size(); ++i) {
    const Vec2& a = line[i - 1];
    const Vec2 d = line[i] - a;
    const int n = std::max(1, static_cast<int>(d.norm() / stretch_mm));
    const Vec2 across = Vec2(-d.y(), d.x()).normalized();
    for (int k = i == 1 ? 0 : 1; k <= n; ++k) {
      const double fade = std::min({1.0, k / 3.0, (n - k) / 3.0});
      const double off = wobble * fade * value_noise(static_cast<float>(k) * 0.2F, static_cast<float>(i) * 3.7F, seed);
      drawn.push_back(a + d * k / n + off * across);
    }
  }
  return drawn;
}

Polyline rounded(const Polyline& line, int rounds) {
  Polyline out = line;
  for (int round = 0; round < rounds && out.size() > 2; ++round) {
    Polyline next{out.front()};
    for (std::size_t i = 1; i + 1 < out.size(); ++i) {
      next.push_back(out[i] + 0.25 * (out[i - 1] - out[i]));
      next.push_back(out[i] + 0.25 * (out[i + 1] - out[i]));
    }
    next.push_back(out.back());
    out = std::move(next);
  }
  return out;
}

void add_filled_head(std::vector<StrokeField::Stroke>& to, const Vec2& tip, const Vec2& direction, double length) {
  constexpr double half_width = 0.6, step = 0.9;  // mm: the strokes overlap
  const Vec2 side(-direction.y(), direction.x());
  for (double back = step; back < length; back += step) {
    const double half = std::max(0.0, back / 4 - half_width);
    const Vec2 middle = tip - back * direction;
    to.push_back({middle - half * side, middle + half * side, half_width, 0});
  }
}

}  // namespace chalkfold::demo
