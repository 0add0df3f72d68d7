// SPDX-License-Identifier: Apache-2.0
#include "demo/scenes/hard_tables.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "demo/scenes/random_parts.h"

namespace chalkfold::demo {

namespace {

template <class List>
const auto& one_of(Random& random, const List& choices) {
  return choices[static_cast<std::size_t>(random.integer(0, static_cast<int>(choices.size()) - 1))];
}

std::uint32_t own_seed(Random& random) { return static_cast<std::uint32_t>(random.next()); }

Table table_by_chance(Random& random, TableTop top) {
  Table t;
  t.top = top;
  t.turn = static_cast<float>(random.uniform(0, full_turn));
  t.seed = own_seed(random);
  t.period = static_cast<float>(random.uniform(25, 90));
  return t;
}

struct Pair {
  Covering covering;
  std::uint32_t dye;
  TableTop top;
};
constexpr std::array<Pair, 14> near_pairs = {{{Covering::leather, 0x7B5733, TableTop::grained_wood},
                                              {Covering::leather, 0x8A5F3C, TableTop::wood},
                                              {Covering::leather, 0x6B4A32, TableTop::worn_wood},
                                              {Covering::vinyl, 0xA87B4F, TableTop::grained_wood},
                                              {Covering::woven, 0xD9CDB4, TableTop::linen},
                                              {Covering::woven, 0xC9BDA4, TableTop::linen},
                                              {Covering::leather, 0xCDBB9B, TableTop::coarse_weave},
                                              {Covering::vinyl, 0xD2C6AE, TableTop::linen},
                                              {Covering::vinyl, 0x2A2B2E, TableTop::cloth},
                                              {Covering::leather, 0x332C28, TableTop::grained_wood},
                                              {Covering::woven, 0x2B3038, TableTop::plain},
                                              {Covering::corduroy, 0x3B3F45, TableTop::coarse_weave},
                                              {Covering::leather, 0x8C8A85, TableTop::cement},
                                              {Covering::woven, 0x8F8B80, TableTop::linen}}};

constexpr std::array<std::uint32_t, 9> plain_dyes = {0x262A2E, 0x2B3A55, 0x7A2F2B, 0xB98A57, 0xD9CDB4,
                                                     0x5C636B, 0x3E5A45, 0xE6E2DA, 0x6E4B6A};

struct GrainedTop {
  TableTop top;
  std::uint32_t first, second;
};
constexpr std::array<GrainedTop, 10> grained_tops = {{{TableTop::grained_wood, 0xC79A63, 0},
                                                      {TableTop::grained_wood, 0x7A5230, 0},
                                                      {TableTop::grained_wood, 0xD9C3A0, 0},
                                                      {TableTop::coarse_weave, 0xA98F66, 0},
                                                      {TableTop::coarse_weave, 0x5E5A52, 0},
                                                      {TableTop::linen, 0xBDB09A, 0},
                                                      {TableTop::checked_cloth, 0xD8D4CC, 0x7A2F2B},
                                                      {TableTop::striped_cloth, 0xD9CDB4, 0x2B3A55},
                                                      {TableTop::plaid_cloth, 0x3E5A45, 0xA8977A},
                                                      {TableTop::plaid_cloth, 0x2B3A55, 0x93352F}}};

Material plain_material(Random& random, std::uint32_t dye) {
  constexpr std::array coverings = {Covering::vinyl, Covering::leather, Covering::woven};
  Material m;
  m.covering = one_of(random, coverings);
  m.colour = m.second = colour_from_srgb(dye);
  m.seed = own_seed(random);
  return m;
}

float scale_to(float from, float wanted) { return wanted / std::max(from, 1e-4F); }

/// Of the same luminance, warmer (over 0) or colder.
Colour hue_moved(const Colour& c, float warmer) {
  const Colour moved{c.r * (1 + warmer), c.g, c.b * (1 - warmer)};
  return moved * scale_to(luminance(moved), luminance(c));
}

double apart(float a, float b) { return std::max(a, b) / std::max(1e-4F, std::min(a, b)); }

}  // namespace

Table dyed(Table table, const Colour& wanted) {
  if (table.colour.r <= 0 || table.colour.g <= 0 || table.colour.b <= 0) table.colour = wanted;
  for (int round = 0; round < 2; ++round) {  // what the grain clips at black makes the first a little wrong
    const Colour mean = mean_reflectance(table);
    const Colour scale{scale_to(mean.r, wanted.r), scale_to(mean.g, wanted.g), scale_to(mean.b, wanted.b)};
    table.colour = table.colour * scale;
    table.second = table.second * scale;
  }
  return table;
}

PanelAndTable near_colours(Random& random) {
  const Pair& pair = one_of(random, near_pairs);
  PanelAndTable out{.material = plain_material(random, pair.dye), .table = table_by_chance(random, pair.top)};
  out.material.covering = pair.covering;
  const Colour panel = mean_reflectance(out.material);
  Colour wanted = panel;
  if (random.chance(0.5)) {
    const double step = random.uniform(1.05, 1.3);
    const bool lighter = random.chance(0.5) || luminance(panel) < 0.02F;
    wanted = panel * static_cast<float>(lighter ? step : 1 / step);
  } else {
    const double step = random.uniform(0.1, 0.25);
    wanted = hue_moved(panel, static_cast<float>(random.chance(0.5) ? step : -step));
  }
  out.table.colour = wanted;
  out.table = dyed(out.table, wanted);
  return out;
}

PanelAndTable plain_on_grained(Random& random) {
  constexpr double least = 1.5;
  PanelAndTable out;
  for (int trial = 0; trial < 100; ++trial) {
    const GrainedTop& top = one_of(random, grained_tops);
    out.material = plain_material(random, one_of(random, plain_dyes));
    out.table = table_by_chance(random, top.top);
    out.table.colour = colour_from_srgb(top.first);
    out.table.second = colour_from_srgb(top.second);
    if (apart(luminance(mean_reflectance(out.material)), luminance(mean_reflectance(out.table))) >= least) break;
  }
  return out;
}

PanelAndTable light_on_light(Random& random) {
  constexpr std::array<std::uint32_t, 5> dyes = {0xE6E2DA, 0xDDD6C8, 0xECE8E0, 0xE2DDD8, 0xD9D9D6};
  constexpr std::array tops = {TableTop::plain, TableTop::laminate, TableTop::linen, TableTop::wood, TableTop::cloth};
  PanelAndTable out{.material = plain_material(random, one_of(random, dyes)),
                    .table = table_by_chance(random, one_of(random, tops))};
  const Colour panel = mean_reflectance(out.material);
  const double step = random.uniform(1.04, 1.3);
  constexpr float lightest = 0.8F;  // below the paper's
  const bool lighter = random.chance(0.5) && luminance(panel) * step < lightest;
  const Colour wanted =
      hue_moved(panel * static_cast<float>(lighter ? step : 1 / step), static_cast<float>(random.uniform(-0.05, 0.05)));
  out.table.colour = wanted;
  out.table = dyed(out.table, wanted);
  return out;
}

PanelAndTable bright_as_shade(Random& random, double left) {
  constexpr std::array tops = {TableTop::plain, TableTop::laminate, TableTop::cement, TableTop::wood, TableTop::cloth};
  PanelAndTable out{.material = plain_material(random, one_of(random, plain_dyes)),
                    .table = table_by_chance(random, one_of(random, tops))};
  constexpr float lightest = 0.7F;
  const double near = random.uniform(0.92, 1.08);
  const auto ratio = static_cast<float>(near / left);
  const float too_light = ratio * luminance(out.material.colour) / lightest;
  if (too_light > 1) out.material.colour = out.material.colour * (1 / too_light);
  const Colour wanted = mean_reflectance(out.material) * ratio;
  out.table.colour = wanted;
  out.table = dyed(out.table, wanted);
  return out;
}

Material patterned_material(Random& random) {
  struct TwoDyes {
    std::uint32_t first, second;
  };
  constexpr std::array<TwoDyes, 8> dyes = {{{0xD8D4CC, 0x7A2F2B},
                                            {0x2B3A55, 0x93A9C4},
                                            {0x3E5A45, 0xC9BDA4},
                                            {0x262A2E, 0x8C949C},
                                            {0x7A2F2B, 0x262A2E},
                                            {0xD9CDB4, 0x5C636B},
                                            {0xB98A57, 0x4A3524},
                                            {0x6E4B6A, 0xD8CFD6}}};
  constexpr std::array coverings = {Covering::check, Covering::stripe, Covering::plaid};
  const TwoDyes& dye = one_of(random, dyes);
  Material m;
  m.covering = one_of(random, coverings);
  m.colour = colour_from_srgb(dye.first);
  m.second = colour_from_srgb(dye.second);
  m.period = static_cast<float>(m.covering == Covering::plaid ? random.uniform(35, 80) : random.uniform(10, 45));
  m.seed = own_seed(random);
  return m;
}

}  // namespace chalkfold::demo
