// SPDX-License-Identifier: Apache-2.0
#include "demo/camera/shading.h"

#include <algorithm>
#include <cmath>

#include "demo/base/noise.h"
#include "demo/camera/chalk_cover.h"
#include "pipeline/geometry/segment.h"

namespace chalkfold::demo {

namespace {

constexpr Colour paper{0.84F, 0.845F, 0.85F}, ink_on_paper{0.032F, 0.032F, 0.034F};

struct LightHere {
  double lamp = 0, room = 0;
};

double smooth_step(double low, double high, double v) {
  const double t = std::clamp((v - low) / (high - low), 0.0, 1.0);
  return t * t * (3 - 2 * t);
}

Vec2 towards_lamp(const Light& light) { return {std::cos(light.azimuth), std::sin(light.azimuth)}; }

/// How far (mm) a point lies inside the union of the bodies' shadows; negative outside.
double depth_within(const std::vector<StrokeField::Stroke>& bodies, const Vec2& p) {
  double depth = -1e9;
  for (const StrokeField::Stroke& s : bodies)
    depth = std::max(depth, s.half_width - geometry::distance_to_segment(p, s.a, s.b));
  return depth;
}

LightHere unshaded(const Scene& scene, const Vec2& p) {
  const Light& light = scene.light;
  LightHere out{light.direct_share * std::max(0.0, 1 + light.gradient.dot(p) / 1000), 1 - light.direct_share};
  if (scene.shadow_across) {
    const ShadowAcross& s = *scene.shadow_across;
    const double inside = s.bodies.empty() ? (p - s.point).dot(s.dark_side) : depth_within(s.bodies, p);
    out.lamp *= 1 - s.depth * smooth_step(-0.5, 0.5, inside / s.softness);
  }
  return out;
}

/// What a body takes from the light of a table point: of the room the part of the sky behind its wall (that of an
/// endless wall, (1 - cos of its elevation) / 2), of the lamp what the slab's far rim hides of a lamp of finite size.
void shade_by(const Solid& solid, const Light& light, const Vec2& p, LightHere& here) {
  const double reach = solid.field.reach(), height = solid.thickness;
  const double away = solid.field.signed_distance(p);
  const double throw_mm = height / std::tan(light.elevation);
  if (away < reach) {
    const double d = std::max(away, 0.0);
    const double hidden = 0.5 * (1 - d / std::hypot(d, height));
    here.room *= 1 - hidden * (1 - d / reach);
  }
  const double sine = std::sin(light.elevation);
  const double half_shadow = std::max(0.05, height * light.half_size / (sine * sine));
  const double clear = solid.field.signed_distance(p + throw_mm * towards_lamp(light));
  here.lamp *= smooth_step(-half_shadow, half_shadow, clear);
}

LightHere light_on_table(const Surfaces& surfaces, const Vec2& p, const Candidates& among) {
  LightHere here = unshaded(surfaces.scene(), p);
  if (!surfaces.scene().thing_shadows) return here;
  for (const int i : among.shaders)
    shade_by(surfaces.solids()[static_cast<std::size_t>(i)], surfaces.scene().light, p, here);
  return here;
}

float coverage(double gap, double footprint) {
  return static_cast<float>(std::clamp(0.5 - gap / std::max(footprint, 0.05), 0.0, 1.0));
}

Colour with_chalk(const Colour& cloth, const LaidPanel& panel, const StrokeField& strokes, const Vec2& p,
                  double footprint) {
  const StrokeField::Nearest stroke = strokes.nearest(p);
  constexpr double soft_mm = 0.35;  // chalk ends in dust, not in a line
  const float cover = coverage(stroke.gap, std::max(footprint, soft_mm));
  if (cover <= 0) return cloth;
  const auto x = static_cast<float>(p.x()), y = static_cast<float>(p.y()), f = static_cast<float>(footprint);
  const float grain = kept(0.8F, f) * value_noise(x / 0.8F, y / 0.8F, panel.material.seed + 71) +
                      0.6F * kept(1.9F, f) * value_noise(x / 1.9F, y / 1.9F, panel.material.seed + 72);
  float share = std::clamp(panel.chalk.strength * (0.9F + 0.9F * grain), 0.0F, 1.0F);
  if (panel.chalk.broken > 0) {
    share = panel.chalk.strength *
            chalk_cover(x, y, f, panel.chalk.broken, relief_of(cloth, panel.material), panel.material.seed + 71);
  }
  return blend(cloth, panel.chalk.colours[static_cast<std::size_t>(stroke.tag)], cover * share);
}

/// What needle holes do to the cloth's light: dark inside, a lighter raised ring around.
float needle_share(const LaidPanel& panel, const StrokeField& holes, const Vec2& p, double footprint) {
  const StrokeField::Nearest hole = holes.nearest(p);
  constexpr double ring_mm = 0.45;
  constexpr float depth = 0.8F;
  if (hole.gap > ring_mm + footprint) return 1;
  const auto rim = static_cast<float>(panel.needle_rows[static_cast<std::size_t>(hole.tag)].rim);
  const float ring = coverage(hole.gap - ring_mm, footprint) * rim;
  return 1 + ring - (depth + ring) * coverage(hole.gap, footprint);
}

/// What a crease does to the light: as the slope of a gentle fold, one side towards the lamp and one away.
float crease_share(const LaidPanel& panel, const StrokeField& creases, const Light& light, const Vec2& p) {
  const StrokeField::Nearest near = creases.nearest(p);
  if (near.gap >= 0) return 1;
  const Crease& crease = panel.creases[static_cast<std::size_t>(near.tag)];
  const double r = near.across / crease.width;
  const Vec2 run = crease.line.back() - crease.line.front();
  const Vec2 left = Vec2(-run.y(), run.x()).normalized();
  constexpr double strongest = 1.6487;  // 1 over the largest value of r exp(-r r / 2)
  return static_cast<float>(1 + crease.depth * left.dot(towards_lamp(light)) * strongest * r * std::exp(-r * r / 2));
}

Colour panel_colour(const Solid& solid, const Light& light, const Vec2& p, double footprint) {
  const LaidPanel& panel = *solid.panel;
  const Vec2 local = panel.table_from_panel.inverse() * p;
  Colour c = reflectance(panel.material, static_cast<float>(local.x()), static_cast<float>(local.y()),
                         static_cast<float>(footprint));
  if (!solid.marks.empty()) c = with_chalk(c, panel, solid.marks, p, footprint);
  if (!solid.needle_holes.empty()) c = c * needle_share(panel, solid.needle_holes, p, footprint);
  if (!solid.creases.empty()) c = c * crease_share(panel, solid.creases, light, p);
  return c;
}

Colour tool_colour(const Solid& solid, const Vec2& p, double footprint) {
  const Vec2 local = geometry::Rigid2{solid.tool->theta, solid.tool->at}.inverse() * p;
  const auto x = static_cast<float>(local.x()), y = static_cast<float>(local.y()), f = static_cast<float>(footprint);
  const auto seed = static_cast<std::uint32_t>(solid.tool->seed);
  Colour c = solid.part->colour * (1 + 0.10F * kept(0.8F, f) * value_noise(x / 25, y / 0.8F, seed) +
                                   0.06F * value_noise(x / 30, y / 9, seed + 1));
  if (solid.part->round) {
    const float half = static_cast<float>(solid.thickness) / 1.6F, across = std::clamp(y / half, -1.0F, 1.0F);
    c = c * (0.45F + 0.65F * std::sqrt(1 - across * across));
  }
  if (!solid.marks.empty())
    c = blend(c, {0.02F, 0.02F, 0.02F}, coverage(solid.marks.nearest(p).gap, footprint) * std::min(1.0F, 0.18F / f));
  return c;
}

Colour wall_light(const Surfaces& surfaces, const Hit& hit, double footprint) {
  const Scene& scene = surfaces.scene();
  const Solid& solid = surfaces.solids()[static_cast<std::size_t>(hit.index)];
  const LightHere here = unshaded(scene, hit.at);
  // Upright: the lamp from the side, of the room one half and what the table sends back.
  const double facing = std::max(0.0, hit.normal.dot(towards_lamp(scene.light))) / std::tan(scene.light.elevation);
  const Colour own = solid.panel != nullptr ? solid.panel->core : solid.part->colour * 0.8F;
  const float layers =
      1 + 0.12F * value_noise(static_cast<float>(hit.at.x() + hit.at.y()), static_cast<float>(hit.z * 1.5), 5U) *
              kept(1, static_cast<float>(footprint));
  return own * (static_cast<float>(here.lamp * facing + 0.6 * here.room) * layers);
}

}  // namespace

Colour radiance(const Surfaces& surfaces, const Hit& hit, double footprint, const Candidates& among) {
  const Scene& scene = surfaces.scene();
  const auto lit = [&](const LightHere& here) { return scene.light.tint * static_cast<float>(here.lamp + here.room); };
  const auto x = static_cast<float>(hit.at.x()), y = static_cast<float>(hit.at.y()), f = static_cast<float>(footprint);
  const auto index = static_cast<std::size_t>(hit.index);
  switch (hit.surface) {
    case Surface::table:
      return reflectance(scene.table, x, y, f) * lit(light_on_table(surfaces, hit.at, among));
    case Surface::paper:
      return paper * (1 + 0.012F * value_noise(x / 40, y / 40, 77U)) * lit(light_on_table(surfaces, hit.at, among));
    case Surface::ink:
      return ink_on_paper * lit(light_on_table(surfaces, hit.at, among));
    case Surface::panel_face:
      return panel_colour(surfaces.solids()[index], scene.light, hit.at, footprint) * lit(unshaded(scene, hit.at));
    case Surface::tool_face:
      return tool_colour(surfaces.solids()[index], hit.at, footprint) * lit(unshaded(scene, hit.at));
    case Surface::wall:
      return scene.light.tint * wall_light(surfaces, hit, footprint);
    case Surface::thread:
      return surfaces.threads()[index].colours[static_cast<std::size_t>(hit.detail)] * lit(unshaded(scene, hit.at));
  }
  return {};
}

}  // namespace chalkfold::demo
