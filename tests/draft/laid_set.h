// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>

#include "pipeline/draft/layout/roll_layout.h"
#include "tests/draft/drawn_shapes.h"

namespace chalkfold::drawn {

/// Ten pieces of a seat: cushion, back, two hollow sides that are mirror images, two strips, an oval, a long band, a flag, a hook.
inline std::vector<draft::RollPiece> laid_set(const std::vector<double>& turns) {
  std::vector<draft::RollPiece> pieces;
  const auto add = [&](const geometry::Curve& curve) { pieces.push_back({geometry::flattened(curve, 0.02), turns}); };
  add(polygon({{0, 0}, {520, 0}, {500, 480}, {20, 480}}, 60));
  add(polygon({{0, 0}, {480, 0}, {440, 600}, {40, 600}}, 90));
  add(polygon({{0, 0}, {500, 40}, {460, 180}, {240, 130}, {30, 170}}, 20));
  pieces.push_back(pieces.back());
  for (Vec2& p : pieces.back().outline) p.x() = -p.x();
  std::reverse(pieces.back().outline.begin(), pieces.back().outline.end());
  add(polygon({{0, 0}, {600, 0}, {560, 120}, {60, 140}}, 25));
  add(polygon({{0, 0}, {600, 0}, {560, 120}, {60, 140}}, 25));
  add(stadium(300, 80));
  add(polygon({{0, 0}, {1100, 0}, {1100, 110}, {0, 110}}, 10));
  add(polygon({{0, 0}, {300, 40}, {260, 210}, {110, 160}, {40, 240}}, 10));
  add(polygon({{0, 0}, {400, 0}, {400, 80}, {120, 80}, {120, 350}, {0, 350}}, 15));
  return pieces;
}

}  // namespace chalkfold::drawn
