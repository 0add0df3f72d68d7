// SPDX-License-Identifier: Apache-2.0
#include "demo/scenes/mark_materials.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace chalkfold::demo {
namespace {

TEST(MarkMaterials, AreUnevenAsClothIs) {
  // Shares of luminance over 2 mm. Rendered plain vinyl and leather of another renderer have 0.05, woven cloth 0.11 to
  // 0.14, its sensor's noise included.
  constexpr double least = 0.02, most = 0.55;
  for (const char* name : mark_materials) {
    for (std::uint64_t seed = 1; seed <= 8; ++seed) {
      const Material m = mark_material(name, seed);
      const double share = unevenness(m, 2) / luminance(mean_reflectance(m));
      EXPECT_GT(share, least) << name << " " << seed;
      EXPECT_LT(share, most) << name << " " << seed;
    }
  }
}

TEST(MarkMaterials, PlainIsMoreEvenThanGrainedAndPatterned) {
  const auto own = [](const char* name) {
    const Material m = mark_material(name, 5);
    return unevenness(m, 2) / luminance(mean_reflectance(m));
  };
  EXPECT_LT(own("plain-leather"), own("grained-leather"));
  EXPECT_LT(own("plain-vinyl"), own("grained-vinyl"));
  EXPECT_LT(own("woven"), own("striped-wide"));
}

TEST(MarkMaterials, AreDarkAndLightAndChalkIsTheOther) {
  bool dark = false, light = false;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    const Material m = mark_material("woven", seed);
    const float cloth = luminance(mean_reflectance(m)), chalk = luminance(chalk_for(m, seed));
    dark = dark || cloth < 0.1F;
    light = light || cloth > 0.3F;
    EXPECT_GT(std::max(cloth, chalk), 2 * std::min(cloth, chalk)) << seed;
  }
  EXPECT_TRUE(dark && light);
}

TEST(MarkMaterials, AreKnownByNameOnly) {
  EXPECT_THROW(mark_material("velvet", 1), std::logic_error);
  for (const char* name : hardest_materials)
    EXPECT_NE(std::find_if(mark_materials.begin(), mark_materials.end(),
                           [&](const char* known) { return std::string(known) == name; }),
              mark_materials.end());
}

TEST(Unevenness, OfAStripeIsThatOfTwoTones) {
  Material m{.covering = Covering::stripe, .colour = {0.5F, 0.5F, 0.5F}, .second = {0.3F, 0.3F, 0.3F}, .period = 50};
  m.relief = 0;
  // A stripe takes 0.3 of the period: sqrt(0.3 x 0.7) x 0.2, less what squares over a border average away.
  constexpr double by_borders = 0.006;
  EXPECT_NEAR(unevenness(m, 2), std::sqrt(0.3 * 0.7) * 0.2, by_borders);
}

}  // namespace
}  // namespace chalkfold::demo
