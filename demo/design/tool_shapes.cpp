// SPDX-License-Identifier: Apache-2.0
#include "demo/design/tool_shapes.h"

#include <cmath>
#include <numbers>

#include "demo/base/noise.h"

namespace chalkfold::demo {

namespace {

constexpr double rule_length = 310, rule_width = 28;
constexpr double stick_length = 62, stick_width = 11;

Polyline box(double x0, double y0, double x1, double y1) { return {{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}; }

Polyline oval(const Vec2& at, double rx, double ry) {
  constexpr int steps = 72;
  Polyline out;
  for (int k = 0; k < steps; ++k) {
    const double angle = 2 * std::numbers::pi * k / steps;
    out.push_back(at + Vec2(rx * std::cos(angle), ry * std::sin(angle)));
  }
  return out;
}

ToolPart steel_rule() {
  ToolPart part{.rings = {box(-rule_length / 2, -rule_width / 2, rule_length / 2, rule_width / 2)},
                .thickness = 1.0,
                .colour = {0.52F, 0.53F, 0.55F}};
  for (int mm = 0; mm <= 300; ++mm) {
    const double x = mm - 150.0, tick = mm % 10 == 0 ? 9 : mm % 5 == 0 ? 6.5 : 4;
    part.print.push_back({{x, rule_width / 2}, {x, rule_width / 2 - tick}, 0.09, 0});
  }
  return part;
}

std::vector<ToolPart> scissors() {
  const Colour steel{0.55F, 0.56F, 0.58F}, grip{0.04F, 0.045F, 0.05F};
  std::vector<ToolPart> out;
  for (const double side : {1.0, -1.0}) {
    const double open = 0.12 * side;
    Polyline blade = {{-8, -6}, {12, -7}, {110, -1}, {112, 1}, {12, 8}, {-8, 6}};
    if (side < 0) {
      for (Vec2& p : blade) p.y() = -p.y();
    }
    for (Vec2& p : blade) p = geometry::Rigid2{open, Vec2::Zero()} * p;
    out.push_back({.rings = {blade}, .thickness = side > 0 ? 3.0 : 1.8, .colour = steel});
    const geometry::Rigid2 turn{-open, Vec2::Zero()};
    Polyline arm = {{-48, 9 * side}, {-6, -4 * side}, {-4, 5 * side}, {-46, 17 * side}};
    for (Vec2& p : arm) p = turn * p;
    out.push_back({.rings = {arm}, .thickness = 4.2, .colour = grip});
    const Vec2 ring = turn * Vec2(-68, 22 * side);
    out.push_back({.rings = {oval(ring, 27, 18), oval(ring, 19, 11)}, .thickness = 5, .colour = grip});
  }
  return out;
}

ToolPart chalk_stick() {
  Polyline ring = box(-stick_length / 2, -stick_width / 2, stick_length / 2, stick_width / 2);
  return {.rings = {ring}, .thickness = stick_width * 0.8, .colour = colour_from_srgb(0x3F6FB5), .round = true};
}

}  // namespace

std::vector<ToolPart> tool_parts(const Tool& tool) {
  std::vector<ToolPart> parts;
  if (tool.kind == ToolKind::steel_rule) parts = {steel_rule()};
  if (tool.kind == ToolKind::chalk_stick) parts = {chalk_stick()};
  if (tool.kind == ToolKind::scissors) parts = scissors();
  const geometry::Rigid2 place{tool.theta, tool.at};
  for (ToolPart& part : parts) {
    for (Polyline& ring : part.rings) {
      for (Vec2& p : ring) p = place * p;
    }
    for (StrokeField::Stroke& s : part.print) s.a = place * s.a, s.b = place * s.b;
  }
  return parts;
}

Threads tool_threads(const Tool& tool) {
  Threads out{.colours = {{0.55F, 0.08F, 0.07F}, {0.42F, 0.05F, 0.05F}}, .height = 1.0};
  if (tool.kind != ToolKind::thread_coil) return out;
  Random random(mixed(tool.seed) ^ 0xC011ULL);
  constexpr int loops = 26, steps = 48;
  for (int loop = 0; loop < loops; ++loop) {
    const double rx = random.uniform(15, 25), ry = rx * random.uniform(0.85, 1.0), turn = random.uniform(0, 3);
    const geometry::Rigid2 place{turn, tool.at + Vec2{random.normal(), random.normal()}};
    Polyline path;
    for (int k = 0; k <= steps; ++k) {
      const double angle = 2 * std::numbers::pi * k / steps;
      path.push_back(place * Vec2(rx * std::cos(angle), ry * std::sin(angle)));
    }
    add_strokes(out.strokes, path, 0.35, loop % 2);
  }
  return out;
}

double tool_radius(ToolKind kind) {
  switch (kind) {
    case ToolKind::steel_rule:
      return 158;
    case ToolKind::chalk_stick:
      return 33;
    case ToolKind::scissors:
      return 115;
    case ToolKind::thread_coil:
      return 31;
  }
  return 0;
}

}  // namespace chalkfold::demo
