// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>

namespace chalkfold::demo {

/// Reflectance or light, linear, 1 = perfect white.
struct Colour {
  float r = 0, g = 0, b = 0;
  Colour operator*(float k) const { return {r * k, g * k, b * k}; }
  Colour operator*(const Colour& o) const { return {r * o.r, g * o.g, b * o.b}; }
  Colour operator+(const Colour& o) const { return {r + o.r, g + o.g, b + o.b}; }
};

inline Colour blend(const Colour& from, const Colour& to, float share) { return from * (1 - share) + to * share; }
inline float luminance(const Colour& c) { return 0.2126F * c.r + 0.7152F * c.g + 0.0722F * c.b; }

/// Linear reflectance of an sRGB triple 0xRRGGBB.
Colour colour_from_srgb(std::uint32_t rgb);

enum class Covering { vinyl, leather, woven, corduroy, check, stripe, plaid };
/// grained_wood: strong rings and pores; coarse_weave: sackcloth; linen: fine, with thick places in its threads; the patterned cloths as
/// the coverings of these names.
enum class TableTop {
  plain,
  wood,
  worn_wood,
  cement,
  laminate,
  cloth,
  grained_wood,
  coarse_weave,
  linen,
  checked_cloth,
  striped_cloth,
  plaid_cloth
};

/// True of those that have a second colour.
inline bool patterned(Covering c) { return c == Covering::check || c == Covering::stripe || c == Covering::plaid; }

/// What a panel is made of. Ribs, checks and stripes run along the panel's y.
struct Material {
  Covering covering = Covering::vinyl;
  Colour colour{0.2F, 0.2F, 0.2F};
  /// of checks, stripes and plaid
  Colour second{0.2F, 0.2F, 0.2F};
  /// of checks, stripes and plaid, mm
  float period = 24;
  std::uint32_t seed = 1;
  /// of threads or ribs, mm; 0: the covering's usual one
  float pitch = 0;
  /// times the covering's usual unevenness of tone; the pattern of checks and stripes keeps its own
  float relief = 1;
};

struct Table {
  TableTop top = TableTop::plain;
  Colour colour{0.5F, 0.5F, 0.5F};
  /// direction of the planks or weave, rad from x
  float turn = 0;
  std::uint32_t seed = 2;
  /// of patterned cloths
  Colour second{0.5F, 0.5F, 0.5F};
  /// of patterned cloths, mm
  float period = 60;
};

/// Reflectance at a point (mm, the panel's or the table's frame), averaged over a pixel's footprint (mm) so that no
/// pattern aliases.
Colour reflectance(const Material& material, float x, float y, float footprint);
Colour reflectance(const Table& table, float x, float y, float footprint);

/// Mean over the whole pattern.
Colour mean_reflectance(const Material& material);
/// Of a table from a fixed lattice over 600 x 600 mm, so the same on every call.
Colour mean_reflectance(const Table& table);

/// The material's own unevenness: standard deviation of its luminance, averaged over squares of this side (mm), pattern
/// and grain together. From a fixed lattice of squares over 300 x 300 mm, so the same on every call.
double unevenness(const Material& material, double over_mm);

}  // namespace chalkfold::demo
