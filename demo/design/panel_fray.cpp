// SPDX-License-Identifier: Apache-2.0
#include "demo/design/panel_fray.h"

#include <cmath>

#include "demo/base/noise.h"

namespace chalkfold::demo {

namespace {

constexpr double thread_width = 0.3;  // mm
constexpr double threads_per_mm = 0.35;
constexpr double jitter_fine = 0.16, jitter_coarse = 0.14;  // mm, largest

/// Outward normal at point i of a counter-clockwise outline.
Vec2 outward(const Polyline& outline, std::size_t i) {
  const std::size_t n = outline.size();
  const Vec2 d = outline[(i + 1) % n] - outline[(i + n - 1) % n];
  return Vec2(d.y(), -d.x()).normalized();
}

std::vector<Colour> thread_colours(const LaidPanel& panel) {
  const Colour c = mean_reflectance(panel.material);
  return {c * 0.85F, c, blend(c, {0.8F, 0.8F, 0.8F}, 0.15F)};
}

}  // namespace

void fray(LaidPanel& panel, std::uint64_t seed, double longest) {
  Random random(mixed(seed) ^ 0xF4A7ULL);
  const Polyline edge = panel.seen_outline;
  const auto noise_seed = static_cast<std::uint32_t>(random.next());
  double passed = 0;
  for (std::size_t i = 0; i < edge.size(); ++i) {
    const auto s = static_cast<float>(passed);
    const double off =
        jitter_fine * value_noise(s / 1.4F, 0.5F, noise_seed) + jitter_coarse * value_noise(s / 5, 7.5F, noise_seed);
    panel.seen_outline[i] = edge[i] + off * outward(edge, i);
    passed += (edge[(i + 1) % edge.size()] - edge[i]).norm();
  }
  Threads threads{.colours = thread_colours(panel), .height = 0.5 * panel.thickness};
  for (std::size_t i = 0; i < edge.size(); ++i) {
    const Vec2 along = edge[(i + 1) % edge.size()] - edge[i];
    if (!random.chance(threads_per_mm * along.norm())) continue;
    const Vec2 out = outward(edge, i), side(-out.y(), out.x());
    const double reach = random.uniform(1, longest), lean = random.uniform(-0.6, 0.6), bend = random.uniform(-0.4, 0.4);
    const Vec2 root = edge[i] - 0.8 * out;
    Polyline path;
    for (int k = 0; k <= 4; ++k) {
      const double t = k / 4.0;
      path.push_back(root + (0.8 + reach) * t * out + reach * (lean * t + bend * t * t) * side);
    }
    add_strokes(threads.strokes, path, thread_width / 2, random.integer(0, 2));
  }
  panel.threads.push_back(std::move(threads));
}

void add_loose_threads(LaidPanel& panel, int count, std::uint64_t seed) {
  Random random(mixed(seed) ^ 0x7EADULL);
  Threads threads{.colours = thread_colours(panel), .height = 0.2};
  for (int n = 0; n < count; ++n) {
    const auto i = static_cast<std::size_t>(random.uniform() * static_cast<double>(panel.outline.size()));
    const Vec2 out = outward(panel.outline, i);
    double heading = std::atan2(out.y(), out.x()), turn = random.uniform(-0.06, 0.06);
    Polyline path{panel.outline[i] - 1.5 * out};
    const int reach = random.integer(25, 70);  // mm
    for (int passed = 0; passed < reach; ++passed) {
      turn = 0.9 * turn + 0.03 * random.normal();
      heading += turn;
      path.push_back(path.back() + Vec2(std::cos(heading), std::sin(heading)));
    }
    add_strokes(threads.strokes, path, 0.2, random.integer(0, 2));
  }
  panel.threads.push_back(std::move(threads));
}

}  // namespace chalkfold::demo
