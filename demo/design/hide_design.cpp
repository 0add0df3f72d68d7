// SPDX-License-Identifier: Apache-2.0
#include "demo/design/hide_design.h"

#include <cmath>
#include <numbers>

#include "demo/base/noise.h"

namespace chalkfold::demo {

namespace {

/// A smooth closed outline through points (E. Catmull, R. Rom, "A class of local interpolating splines", 1974).
std::vector<DesignEdge> smooth_through(const Polyline& points) {
  const std::size_t n = points.size();
  std::vector<DesignEdge> edges;
  for (std::size_t i = 0; i < n; ++i) {
    const Vec2 &before = points[(i + n - 1) % n], &from = points[i], &to = points[(i + 1) % n],
               &after = points[(i + 2) % n];
    edges.push_back({from, from + (to - before) / 6, to - (after - from) / 6, to});
  }
  return edges;
}

/// A hole that a knife left: longer than wide.
Polyline oval(const Vec2& centre, double across, double other, double turn) {
  constexpr int corners = 90;
  const geometry::Rigid2 placed{turn, centre};
  Polyline out;
  for (int k = 0; k < corners; ++k) {
    const double angle = 2 * std::numbers::pi * k / corners;
    out.push_back(placed * Vec2(across / 2 * std::cos(angle), other / 2 * std::sin(angle)));
  }
  return out;
}

}  // namespace

PanelDesign hide_design() {
  PanelDesign d{.name = "hide"};
  d.edges =
      smooth_through({{-590, -60}, {-545, -205}, {-560, -330}, {-470, -395}, {-355, -330}, {-190, -345}, {-20, -310},
                      {140, -345}, {300, -330},  {420, -415},  {515, -370},  {490, -240},  {565, -90},   {600, 60},
                      {555, 190},  {505, 300},   {430, 330},   {330, 300},   {180, 360},   {10, 375},    {-150, 340},
                      {-300, 405}, {-430, 420},  {-490, 330},  {-470, 210},  {-555, 90}});
  d.holes = {oval({150, -120}, 46, 24, 0.5)};
  d.rings = {{.centre = {-330, 150}, .across = 62, .other = 44, .turn = 0.4, .start = 1.1, .past = 14},
             {.centre = {20, 90}, .across = 150, .other = 118, .turn = -0.3, .start = 2.4, .past = -5},
             {.centre = {380, 60}, .across = 44, .other = 40, .turn = 0, .start = 4.0, .past = 8}};
  return d;
}

PanelDesign offcut_design() {
  PanelDesign d{.name = "offcut"};
  d.edges = smooth_through({{-240, -150},
                            {-90, -190},
                            {60, -160},
                            {200, -175},
                            {250, -60},
                            {225, 90},
                            {120, 165},
                            {-40, 180},
                            {-170, 140},
                            {-255, 20}});
  d.rings = {{.centre = {-130, 20}, .across = 70, .other = 60, .turn = 0.7, .start = 0.3, .past = 6},
             {.centre = {60, -20}, .across = 110, .other = 96, .turn = 0.2, .start = 5.0, .past = -4},
             {.centre = {150, 90}, .across = 42, .other = 40, .turn = 0, .start = 2.0, .past = 10}};
  return d;
}

Polyline ring_line(const RingAt& ring) {
  constexpr double step = 1.5, waver = 0.05,
                   drift = 0.03;  // mm; shares of the radius: over a few centimetres, and in one round
  const double mean = 0.25 * (ring.across + ring.other), total = 2 * std::numbers::pi * mean + ring.past;
  const int count = static_cast<int>(total / step);
  const auto seed = static_cast<std::uint32_t>(std::lround(10 * ring.across + ring.centre.x()));
  const geometry::Rigid2 placed{ring.turn, ring.centre};
  Polyline line;
  for (int k = 0; k <= count; ++k) {
    const double along = total * k / count, angle = ring.start + along / mean;
    const double noise = value_noise(static_cast<float>(along / 25), 0.5F, seed);
    const double size = 1 + waver * noise + drift * along / total;
    line.push_back(placed * (size * Vec2(ring.across / 2 * std::cos(angle), ring.other / 2 * std::sin(angle))));
  }
  return line;
}

}  // namespace chalkfold::demo
