// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <string>

#include "demo/base/material.h"

namespace chalkfold::demo {

/// The materials on which mark reading is tried, easiest first.
inline constexpr std::array mark_materials = {"plain-vinyl",   "plain-leather", "grained-leather", "grained-vinyl",
                                              "woven",         "coarse-woven",  "ribbed",          "fine-ribbed",
                                              "checked-small", "checked-large", "striped-narrow",  "striped-wide"};

/// Those that look most like chalk marks themselves.
inline constexpr std::array hardest_materials = {"grained-leather", "grained-vinyl", "coarse-woven",   "ribbed",
                                                 "checked-small",   "checked-large", "striped-narrow", "striped-wide"};

/// A material of that kind in one of a few dyes, dark or light, both by the seed. Throws std::logic_error for a name that
/// is not in mark_materials.
Material mark_material(const std::string& name, std::uint64_t seed);

/// Chalk for a material: white or yellow on dark cloth, blue or black (a wax crayon, a pen) on light cloth.
Colour chalk_for(const Material& material, std::uint64_t seed);

}  // namespace chalkfold::demo
