// SPDX-License-Identifier: Apache-2.0
#include "demo/base/material.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "demo/base/noise.h"

namespace chalkfold::demo {

namespace {

constexpr float two_pi = 2 * std::numbers::pi_v<float>;

float floor_f(float v) { return std::floor(v); }

float linear_from_srgb(float v) { return v <= 0.04045F ? v / 12.92F : std::pow((v + 0.055F) / 1.055F, 2.4F); }

Colour scaled(const Colour& c, float k) { return c * std::max(k, 0.05F); }

/// Share of [x - footprint/2, x + footprint/2] that lies in a band of width `band` at the start of every period.
float band_share(float x, float period, float band, float footprint) {
  const auto covered = [&](float t) {
    const float n = floor_f(t / period);
    return n * band + std::min(t - n * period, band);
  };
  const float h = std::max(footprint, 1e-3F) / 2;
  return (covered(x + h) - covered(x - h)) / (2 * h);
}

float weave(float x, float y, float pitch, float footprint, std::uint32_t seed) {
  const float fine = kept(pitch, footprint);
  const int column = static_cast<int>(floor_f(x / pitch)), row = static_cast<int>(floor_f(y / pitch));
  // Thread by thread: each warp and weft thread has its own thickness that changes slowly along it.
  const float warp = value_noise(static_cast<float>(column) * 17.3F, y / 30, seed);
  const float weft = value_noise(x / 30, static_cast<float>(row) * 17.3F, seed + 1);
  float out = 0.16F * kept(2 * pitch, footprint) * (warp + weft);
  if (fine > 0.03F) {
    const float u = std::sin(two_pi * 0.5F * x / pitch), v = std::sin(two_pi * 0.5F * y / pitch);
    const bool over = ((column + row) & 1) != 0;
    out += fine * 0.22F * ((over ? u * u : v * v) - 0.5F);
  }
  return out;
}

float pebble(float x, float y, float size, float footprint, std::uint32_t seed) {
  const float share = kept(size, footprint);
  if (share < 0.03F) return 0;
  const float v = value_noise(x / size, y / size, seed);
  return share * (std::abs(v) - 0.4F);
}

float leather_grain(float x, float y, float size, float footprint, std::uint32_t seed) {
  return 0.22F * layered_noise(x, y, 70, 3, footprint, seed) + 0.16F * pebble(x, y, size, footprint, seed + 11);
}

float corduroy(float x, float y, float rib, float footprint, std::uint32_t seed) {
  const float wander = 0.25F * value_noise(x / 40, y / 60, seed);
  return 0.30F * kept(rib, footprint) * std::cos(two_pi * (x / rib + wander)) +
         0.10F * layered_noise(x, y, 90, 3, footprint, seed + 5);
}

Colour checked(const Material& m, float x, float y, float footprint) {
  const float across = band_share(x, m.period, m.period / 2, footprint),
              along = band_share(y, m.period, m.period / 2, footprint);
  return blend(m.colour, m.second, 0.5F * (across + along));
}

Colour striped(const Material& m, float x, float footprint) {
  return blend(m.colour, m.second, band_share(x, m.period, m.period * 0.3F, footprint));
}

/// One broad band and two narrow ones a period, both ways.
constexpr std::array<std::array<float, 2>, 3> plaid_bands = {{{0, 0.42F}, {0.58F, 0.06F}, {0.72F, 0.06F}}};

Colour plaid(const Material& m, float x, float y, float footprint) {
  float share = 0;
  for (const auto& [start, width] : plaid_bands) {
    share += 0.5F * (band_share(x - start * m.period, m.period, width * m.period, footprint) +
                     band_share(y - start * m.period, m.period, width * m.period, footprint));
  }
  return blend(m.colour, m.second, share);
}

struct Turned {
  float x, y;
};
Turned turned(float x, float y, float angle) {
  const float c = std::cos(angle), s = std::sin(angle);
  return {c * x + s * y, -s * x + c * y};
}

Colour wood(const Table& t, float x, float y, float footprint, bool worn) {
  constexpr float plank = 140, gap = 1.2F;
  const int row = static_cast<int>(floor_f(y / plank));
  const float tone = lattice_value(row, 3, t.seed), shift = 900 * lattice_value(row, 5, t.seed);
  const float flow = layered_noise((x + shift) / 6, y, 34, 2, footprint, t.seed + 7);
  const float rings = std::sin(two_pi * (y / 21 + 2.6F * flow));
  const float fibre = kept(1.4F, footprint) * value_noise((x + shift) / 45, y / 1.4F, t.seed + 13);
  float v = 1 + 0.07F * tone + 0.07F * rings + 0.09F * flow + 0.09F * fibre;
  Colour c = t.colour;
  if (worn) {
    const float blotch = layered_noise(x, y, 160, 4, footprint, t.seed + 19);
    v += 0.55F * blotch;
    c = blend(c, c * Colour{1.25F, 1.1F, 0.9F}, std::clamp(0.5F + blotch, 0.0F, 1.0F));
  }
  const float joint = band_share(y, plank, gap, footprint);
  return scaled(c, v * (1 - 0.55F * joint));
}

Colour cement(const Table& t, float x, float y, float footprint) {
  float v = 1 + 0.22F * layered_noise(x, y, 220, 5, footprint, t.seed) +
            0.12F * layered_noise(x, y, 3, 2, footprint, t.seed + 3);
  // Two lattices, one turned, so that the pores do not line up.
  const Turned q = turned(x, y, 0.6F);
  const float pore = value_noise(x / 3, y / 3, t.seed + 31) + value_noise(q.x / 2.3F, q.y / 2.3F, t.seed + 32);
  v -= 0.35F * kept(2.6F, footprint) * std::clamp((pore - 0.95F) * 4, 0.0F, 1.0F);
  return scaled(t.colour, v);
}

Colour laminate(const Table& t, float x, float y, float footprint) {
  const float warp = layered_noise(x, y, 260, 4, footprint, t.seed);
  const float vein = 1 - std::abs(std::sin(two_pi * (x / 420 + y / 700 + 1.1F * warp)));
  const float v =
      1 + 0.10F * warp - 0.16F * vein * vein * vein * vein + 0.03F * layered_noise(x, y, 6, 2, footprint, t.seed + 3);
  return scaled(t.colour, v);
}

/// Light early wood that darkens towards the ring's end and begins again over a sixth of the ring.
float ring_tone(float phase) {
  constexpr float end = 5 / 6.0F;
  const float s = phase - floor_f(phase);
  if (s < end) return (s / end) * (s / end) * (s / end);
  const float t = (s - end) / (1 - end);
  return 1 - t * t * (3 - 2 * t);
}

Colour grained_wood(const Table& t, float x, float y, float footprint) {
  constexpr float plank = 190, gap = 1.2F, ring = 15, pore = 0.9F;
  const int row = static_cast<int>(floor_f(y / plank));
  const float tone = lattice_value(row, 3, t.seed), shift = 900 * lattice_value(row, 5, t.seed);
  const float flow = layered_noise((x + shift) / 8, y, 75, 2, footprint, t.seed + 7);
  const float late = ring_tone(y / ring + 4 * flow);
  const float pores = std::clamp(3 * value_noise((x + shift) / 16, y / pore, t.seed + 13) - 1.2F, 0.0F, 1.0F);
  const float v = 1.14F + 0.08F * tone - 0.46F * late - 0.35F * kept(2 * pore, footprint) * pores;
  const Colour c = blend(t.colour, t.colour * Colour{0.97F, 0.84F, 0.72F}, late);
  return scaled(c, v * (1 - 0.55F * band_share(y, plank, gap, footprint)));
}

float linen(float x, float y, float footprint, std::uint32_t seed) {
  constexpr float thread = 1.6F, stretch = 50, rare = 0.3F;
  const auto thick = [&](float along, float across, std::uint32_t s) {
    return std::max(0.0F, value_noise(across / thread, along / stretch, s) - rare);
  };
  return 0.8F * weave(x, y, 1.0F, footprint, seed) +
         0.28F * kept(2 * thread, footprint) * (thick(x, y, seed + 21) - thick(y, x, seed + 22)) +
         0.10F * layered_noise(x, y, 170, 3, footprint, seed + 9);
}

/// A table's cloth as the covering of that pattern.
Material cloth_of(const Table& t) {
  const Covering covering = t.top == TableTop::checked_cloth   ? Covering::check
                            : t.top == TableTop::striped_cloth ? Covering::stripe
                                                               : Covering::plaid;
  return {.covering = covering, .colour = t.colour, .second = t.second, .period = t.period, .seed = t.seed};
}

}  // namespace

Colour colour_from_srgb(std::uint32_t rgb) {
  const auto part = [&](int shift) { return linear_from_srgb(static_cast<float>((rgb >> shift) & 255U) / 255); };
  return {part(16), part(8), part(0)};
}

Colour reflectance(const Material& m, float x, float y, float footprint) {
  const auto pitch = [&](float usual) { return m.pitch > 0 ? m.pitch : usual; };
  switch (m.covering) {
    case Covering::vinyl:
      return scaled(m.colour, 1 + m.relief * (0.05F * layered_noise(x, y, 120, 2, footprint, m.seed) +
                                              0.10F * pebble(x, y, pitch(1.3F), footprint, m.seed + 3)));
    case Covering::leather:
      return scaled(m.colour, 1 + m.relief * leather_grain(x, y, pitch(1.8F), footprint, m.seed));
    case Covering::woven:
      return scaled(m.colour, 1 + m.relief * weave(x, y, pitch(1.5F), footprint, m.seed));
    case Covering::corduroy:
      return scaled(m.colour, 1 + m.relief * corduroy(x, y, pitch(4.0F), footprint, m.seed));
    case Covering::check:
      return scaled(checked(m, x, y, footprint), 1 + 0.6F * m.relief * weave(x, y, pitch(1.2F), footprint, m.seed));
    case Covering::stripe:
      return scaled(striped(m, x, footprint), 1 + 0.6F * m.relief * weave(x, y, pitch(1.2F), footprint, m.seed));
    case Covering::plaid:
      return scaled(plaid(m, x, y, footprint), 1 + 0.6F * m.relief * weave(x, y, pitch(1.2F), footprint, m.seed));
  }
  return m.colour;
}

Colour reflectance(const Table& t, float x, float y, float footprint) {
  const Turned p = turned(x, y, t.turn);
  switch (t.top) {
    case TableTop::plain:
      return t.colour;
    case TableTop::wood:
      return wood(t, p.x, p.y, footprint, false);
    case TableTop::worn_wood:
      return wood(t, p.x, p.y, footprint, true);
    case TableTop::cement:
      return cement(t, p.x, p.y, footprint);
    case TableTop::laminate:
      return laminate(t, p.x, p.y, footprint);
    case TableTop::cloth:
      return scaled(t.colour, 1 + weave(p.x, p.y, 1.1F, footprint, t.seed) +
                                  0.15F * layered_noise(p.x, p.y, 150, 3, footprint, t.seed + 9));
    case TableTop::grained_wood:
      return grained_wood(t, p.x, p.y, footprint);
    case TableTop::coarse_weave:
      return scaled(t.colour, 1 + 1.7F * weave(p.x, p.y, 4.5F, footprint, t.seed) +
                                  0.12F * layered_noise(p.x, p.y, 150, 3, footprint, t.seed + 9));
    case TableTop::linen:
      return scaled(t.colour, 1 + linen(p.x, p.y, footprint, t.seed));
    case TableTop::checked_cloth:
    case TableTop::striped_cloth:
    case TableTop::plaid_cloth:
      return reflectance(cloth_of(t), p.x, p.y, footprint);
  }
  return t.colour;
}

Colour mean_reflectance(const Material& m) {
  if (m.covering == Covering::check) return blend(m.colour, m.second, 0.5F);
  if (m.covering == Covering::stripe) return blend(m.colour, m.second, 0.3F);
  if (m.covering == Covering::plaid) {
    float share = 0;
    for (const auto& band : plaid_bands) share += band[1];
    return blend(m.colour, m.second, share);
  }
  return m.colour;
}

Colour mean_reflectance(const Table& table) {
  constexpr float field = 600, stride = 8.3F, footprint = 2;  // mm
  Colour sum;
  int count = 0;
  for (float y = -field / 2; y < field / 2; y += stride) {
    for (float x = -field / 2; x < field / 2; x += stride, ++count) sum = sum + reflectance(table, x, y, footprint);
  }
  return sum * (1 / static_cast<float>(count));
}

double unevenness(const Material& m, double over_mm) {
  constexpr double field = 300, stride = 7.3;  // mm; the stride is no multiple of a usual pitch
  constexpr int parts = 4;                     // samples across a square
  const auto footprint = static_cast<float>(over_mm / parts);
  double sum = 0, squares = 0;
  int count = 0;
  for (double y = 0; y < field; y += stride) {
    for (double x = 0; x < field; x += stride, ++count) {
      double mean = 0;
      for (int row = 0; row < parts; ++row) {
        for (int column = 0; column < parts; ++column) {
          const double dx = (column + 0.5) * over_mm / parts, dy = (row + 0.5) * over_mm / parts;
          mean += luminance(reflectance(m, static_cast<float>(x + dx), static_cast<float>(y + dy), footprint));
        }
      }
      mean /= parts * parts;
      sum += mean;
      squares += mean * mean;
    }
  }
  return std::sqrt(std::max(0.0, squares / count - sum / count * (sum / count)));
}

}  // namespace chalkfold::demo
