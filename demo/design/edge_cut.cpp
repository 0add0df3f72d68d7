// SPDX-License-Identifier: Apache-2.0
#include "demo/design/edge_cut.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace chalkfold::demo {

namespace {

/// The notch's own outline, from its start on the edge to its end.
Polyline notch_profile(const NotchAt& notch, const EdgePoint& e) {
  const double w = mouth_width(notch) / 2;
  const Vec2 along = e.along();
  const auto at = [&](double u, double v) { return Vec2(e.at + u * along + v * e.inward); };
  if (notch.kind == NotchKind::vee) return {at(-w, 0), at(0, notch.depth), at(w, 0)};
  if (notch.kind == NotchKind::slit) return {at(-w, 0), at(-w, notch.depth), at(w, notch.depth), at(w, 0)};
  Polyline out{at(-w, 0)};
  constexpr int steps = 16;
  for (int k = 0; k <= steps; ++k) {
    const double angle = std::numbers::pi * k / steps;
    out.push_back(at(-w * std::cos(angle), notch.depth - w + w * std::sin(angle)));
  }
  out.push_back(at(w, 0));
  return out;
}

}  // namespace

EdgePoint at_share(const Polyline& line, double share) {
  double left = share * geometry::length(line, false);
  for (std::size_t i = 1; i < line.size(); ++i) {
    const Vec2 d = line[i] - line[i - 1];
    const double n = d.norm();
    if (left <= n || i + 1 == line.size()) return {line[i - 1] + d * (left / n), Vec2(-d.y(), d.x()) / n};
    left -= n;
  }
  return {line.front(), Vec2::UnitX()};
}

Polyline notched(const Polyline& line, int edge, const std::vector<NotchAt>& notches, bool slits) {
  std::vector<NotchAt> here;
  for (const NotchAt& n : notches) {
    if (n.edge == edge && (slits || n.kind != NotchKind::slit)) here.push_back(n);
  }
  std::sort(here.begin(), here.end(), [](const NotchAt& a, const NotchAt& b) { return a.along < b.along; });
  const double total = geometry::length(line, false);
  Polyline out;
  std::size_t next = 0;
  double passed = 0;
  for (std::size_t i = 0; i + 1 < line.size(); passed += (line[i + 1] - line[i]).norm(), ++i) {
    while (next < here.size() && passed > here[next].along * total + mouth_width(here[next]) / 2) {
      const Polyline profile = notch_profile(here[next], at_share(line, here[next].along));
      out.insert(out.end(), profile.begin(), profile.end());
      ++next;
    }
    const bool cut = next < here.size() && std::abs(passed - here[next].along * total) <= mouth_width(here[next]) / 2;
    if (!cut) out.push_back(line[i]);
  }
  return out;
}

}  // namespace chalkfold::demo
