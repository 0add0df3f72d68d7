// SPDX-License-Identifier: Apache-2.0
#include "demo/scenes/mark_materials.h"

#include <stdexcept>

#include "demo/base/noise.h"

namespace chalkfold::demo {

namespace {

struct Kind {
  Covering covering;
  float pitch, relief, period;
};

/// In the order of mark_materials. Pitches and periods (mm) are common practice, no source; reliefs are chosen so that the
/// renders look like cloth.
constexpr std::array<Kind, mark_materials.size()> kinds = {{{Covering::vinyl, 1.3F, 3.0F, 0},
                                                            {Covering::leather, 1.4F, 0.9F, 0},
                                                            {Covering::leather, 2.2F, 1.3F, 0},
                                                            {Covering::vinyl, 1.8F, 3.5F, 0},
                                                            {Covering::woven, 1.3F, 1.0F, 0},
                                                            {Covering::woven, 2.6F, 1.2F, 0},
                                                            {Covering::corduroy, 4.0F, 1.0F, 0},
                                                            {Covering::corduroy, 2.2F, 1.0F, 0},
                                                            {Covering::check, 1.2F, 1.0F, 12},
                                                            {Covering::check, 1.2F, 1.0F, 38},
                                                            {Covering::stripe, 1.2F, 1.0F, 10},
                                                            {Covering::stripe, 1.2F, 1.0F, 42}}};

struct Dyes {
  std::uint32_t first, second;
};
/// Dark ones first; the second colour is that of checks and stripes.
constexpr std::array<Dyes, 8> dyes = {{{0x262A2E, 0x3A4046},
                                       {0x2B3A55, 0x44567A},
                                       {0x6B2F2B, 0x8A4A40},
                                       {0x3E5A45, 0x587A5E},
                                       {0xB98A57, 0x9C7145},
                                       {0xC9BDA4, 0xA8997F},
                                       {0x9AA0A6, 0x7F868D},
                                       {0xD8D4CC, 0xB5BCC4}}};
constexpr float light_cloth = 0.25F;  // luminance

}  // namespace

Material mark_material(const std::string& name, std::uint64_t seed) {
  std::size_t k = 0;
  while (k < mark_materials.size() && name != mark_materials[k]) ++k;
  if (k == mark_materials.size()) throw std::logic_error("no material is called " + name);
  Random random(mixed(seed) ^ 0xC107ULL);
  const Dyes& dye = dyes[static_cast<std::size_t>(random.integer(0, static_cast<int>(dyes.size()) - 1))];
  Material m;
  m.covering = kinds[k].covering;
  m.pitch = kinds[k].pitch;
  m.relief = kinds[k].relief;
  if (kinds[k].period > 0) m.period = kinds[k].period * static_cast<float>(random.uniform(0.85, 1.15));
  m.colour = colour_from_srgb(dye.first);
  m.second = colour_from_srgb(dye.second);
  m.seed = static_cast<std::uint32_t>(random.next());
  return m;
}

Colour chalk_for(const Material& material, std::uint64_t seed) {
  const bool first = Random(mixed(seed) ^ 0xC4A1ULL).chance(0.65);
  if (luminance(mean_reflectance(material)) > light_cloth) return colour_from_srgb(first ? 0x2A4C90 : 0x26262A);
  return first ? Colour{0.85F, 0.85F, 0.82F} : Colour{0.82F, 0.70F, 0.25F};
}

}  // namespace chalkfold::demo
