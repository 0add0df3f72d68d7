// SPDX-License-Identifier: Apache-2.0
#include "demo/scenes/hard_scene.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>
#include <set>

#include "demo/camera/truth.h"
#include "demo/scenes/hard_parts.h"
#include "demo/scenes/hard_tables.h"

namespace chalkfold::demo {
namespace {

constexpr std::uint64_t seeds = 12;  // of each kind
constexpr double degree = std::numbers::pi / 180;

std::string listed(const std::vector<std::string>& problems) {
  std::string out;
  for (const std::string& p : problems) out += p + "; ";
  return out;
}

/// `check` on some scenes of a kind.
template <class Check>
void for_scenes(const std::string& kind, const Check& check) {
  for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
    SCOPED_TRACE(kind + " " + std::to_string(seed));
    check(hard_scene(seed, {.kind = kind}));
  }
}

double apart(float a, float b) { return std::max(a, b) / std::min(a, b); }

TEST(HardScenes, ComeInTurnAndAreGoodPhotographsOtherwise) {
  std::set<std::size_t> sheets;
  for (std::uint64_t seed = 1; seed <= 4 * hard_kinds.size(); ++seed) {
    const Scene s = hard_scene(seed);
    EXPECT_EQ(s.kind, hard_kinds[(seed - 1) % hard_kinds.size()]);
    EXPECT_EQ(s.name, s.kind + "-" + std::to_string(seed));
    EXPECT_EQ(truth(s)["kind"], s.kind);
    EXPECT_EQ(s.print_scale.x, 1);
    EXPECT_EQ(s.print_scale.y, 1);
    sheets.insert(s.sheets.size());
    std::set<int> numbers;
    for (const SheetOnTable& sheet : s.sheets) numbers.insert(sheet.number);
    EXPECT_EQ(numbers.size(), s.sheets.size());
    if (s.kind != "over-sheet" && s.kind != "close-panels") {
      EXPECT_EQ(listed(layout_problems(s, 25, 2.9)), "") << s.name;
    }
  }
  EXPECT_EQ(sheets, (std::set<std::size_t>{2, 3, 4}));
  EXPECT_THROW(hard_scene(1, {.kind = "tidy"}), std::logic_error);
}

TEST(HardScenes, DependOnTheSeedAlone) {
  for (const char* kind : hard_kinds) {
    EXPECT_EQ(truth(hard_scene(3, {.kind = kind})), truth(hard_scene(3, {.kind = kind})));
    EXPECT_NE(truth(hard_scene(3, {.kind = kind}))["panels"], truth(hard_scene(4, {.kind = kind}))["panels"]);
  }
}

TEST(HardShadow, CrossesAPanelAndLeavesWhatItShould) {
  for_scenes("hard-shadow", [](const Scene& s) {
    ASSERT_TRUE(s.shadow_across);
    const ShadowAcross& shadow = *s.shadow_across;
    const double left = 1 - shadow.depth * s.light.direct_share;
    EXPECT_GE(left, 0.3 - 1e-9);
    EXPECT_LE(left, 0.7 + 1e-9);
    EXPECT_LE(shadow.softness, 2.5);
    const bool crossed = std::any_of(s.panels.begin(), s.panels.end(), [&](const LaidPanel& p) {
      const auto inside = [&](const Vec2& at) {
        if (shadow.bodies.empty()) return (at - shadow.point).dot(shadow.dark_side) > 0;
        return std::any_of(shadow.bodies.begin(), shadow.bodies.end(), [&](const StrokeField::Stroke& b) {
          return geometry::distance_to({b.a, b.b}, at, false) < b.half_width;
        });
      };
      const auto dark = std::count_if(p.outline.begin(), p.outline.end(), inside);
      return dark > 0 && dark < static_cast<std::ptrdiff_t>(p.outline.size());
    });
    EXPECT_TRUE(crossed);
  });
}

TEST(OverSheet, CoversSquaresAndLeavesTwoSheetsBare) {
  for_scenes("over-sheet", [](const Scene& s) {
    int covered = 0, bare = 0;
    for (const SheetOnTable& sheet : s.sheets) {
      const SheetCover cover = cover_of(sheet, s.panels);
      EXPECT_LE(cover.paper, 0.25);
      EXPECT_EQ(cover.paper > 0, cover.board > 0);
      ++(cover.paper > 0 ? covered : bare);
    }
    EXPECT_TRUE(covered == 1 || covered == 2) << covered;
    EXPECT_GE(bare, 2);
  });
}

TEST(FrayedPattern, IsFrayedAndPatterned) {
  for_scenes("frayed-pattern", [](const Scene& s) {
    for (const LaidPanel& p : s.panels) {
      EXPECT_TRUE(patterned(p.material.covering));
      EXPECT_EQ(p.threads.size(), 2U) << "the edge's and the loose ones";
    }
  });
}

TEST(NearColours, AreNearInLuminanceOrEqualInIt) {
  int equal = 0;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    Random random(mixed(seed));
    const PanelAndTable both = near_colours(random);
    const Colour panel = mean_reflectance(both.material), table = mean_reflectance(both.table);
    const double step = apart(luminance(panel), luminance(table));
    constexpr double of_mean = 0.01;  // the grain clips at black
    EXPECT_LE(step, 1.3 + of_mean) << seed;
    if (step < 1.03) {
      ++equal;
      EXPECT_GT(std::abs(panel.r / panel.b - table.r / table.b), 0.08) << "another hue, seed " << seed;
    } else {
      EXPECT_GE(step, 1.05 - of_mean) << seed;
    }
  }
  EXPECT_NEAR(equal, 30, 12);
}

TEST(HardTables, AreAsFarApartAsTheyShouldBe) {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    Random random(mixed(seed));
    const PanelAndTable pale = light_on_light(random);
    EXPECT_GT(luminance(mean_reflectance(pale.material)), 0.55F);
    EXPECT_GT(luminance(mean_reflectance(pale.table)), 0.4F);
    EXPECT_LE(apart(luminance(mean_reflectance(pale.material)), luminance(mean_reflectance(pale.table))), 1.31);
    const PanelAndTable grained = plain_on_grained(random);
    EXPECT_GE(apart(luminance(mean_reflectance(grained.material)), luminance(mean_reflectance(grained.table))), 1.5);
    const PanelAndTable shade = bright_as_shade(random, 0.4);
    const double shaded = 0.4 * luminance(mean_reflectance(shade.table));
    constexpr double near = 1.1;
    EXPECT_LE(apart(static_cast<float>(shaded), luminance(mean_reflectance(shade.material))), near) << seed;
  }
}

TEST(LightOnLight, HasWhitePaperNearby) {
  for_scenes("light-on-light", [](const Scene& s) {
    ASSERT_FALSE(s.papers.empty());
    EXPECT_EQ(truth(s)["papers"].size(), s.papers.size());
  });
}

TEST(ClosePanels, LieAtMostTenMillimetresApartAndNotOnEachOther) {
  int touching = 0;
  for_scenes("close-panels", [&](const Scene& s) {
    EXPECT_TRUE(s.panels.size() == 2 || s.panels.size() == 3);
    for (std::size_t k = 1; k < s.panels.size(); ++k) {
      double least = 1e9;
      for (std::size_t i = 0; i < k; ++i) least = std::min(least, close_gap(s.panels[i].outline, s.panels[k].outline));
      EXPECT_LE(least, 10.01);
      touching += least < 0.3;
    }
    double areas = 0;
    for (const LaidPanel& p : s.panels) areas += geometry::signed_area(p.outline);
    // Where points of the whole set lie in two panels these overlap: only a touching seam's own points may.
    for (std::size_t k = 1; k < s.panels.size(); ++k) {
      for (std::size_t i = 0; i < k; ++i) {
        for (const Vec2& p : s.panels[i].outline) {
          if (geometry::contains(s.panels[k].outline, p)) {
            EXPECT_LT(geometry::distance_to(s.panels[k].outline, p, true), 1e-6);
          }
        }
      }
    }
    EXPECT_GT(areas, 0);
  });
  EXPECT_GT(touching, 0);
}

TEST(Slots, LieInTheOutlineAndAreListed) {
  for_scenes("slots", [](const Scene& s) {
    for (const LaidPanel& p : s.panels) {
      ASSERT_TRUE(!p.slots.empty() && p.slots.size() <= 3);
      for (const SlotInPanel& slot : p.slots) {
        EXPECT_TRUE(slot.width >= 4 && slot.width <= 15);
        EXPECT_TRUE(slot.depth >= 20 && slot.depth <= 120);
        EXPECT_FALSE(geometry::contains(p.outline, slot.mouth + 0.5 * slot.width * slot.direction));
        EXPECT_LT(geometry::distance_to(p.outline, slot.end, true), 0.1);
      }
      ASSERT_EQ(p.inner_corners.size(), 1U);
      EXPECT_GE(p.inner_corners[0].angle, 30 * degree);
      EXPECT_LE(p.inner_corners[0].angle, 90 * degree);
      EXPECT_LT(geometry::distance_to(p.outline, p.inner_corners[0].at, true), 0.1);
    }
    const nlohmann::json told = truth(s)["panels"][0];
    EXPECT_EQ(told["slots"].size(), s.panels[0].slots.size());
    EXPECT_EQ(told["inner_corners"].size(), 1U);
  });
}

}  // namespace
}  // namespace chalkfold::demo
