// SPDX-License-Identifier: Apache-2.0
#include "demo/scenes/mark_scene.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <stdexcept>

#include "demo/camera/truth.h"
#include "demo/scenes/mark_materials.h"
#include "demo/scenes/scene_layout.h"

namespace chalkfold::demo {
namespace {

TEST(MarkScenes, AreGoodPhotographsOfOneLargePanel) {
  std::set<std::string> materials;
  for (std::uint64_t seed = 1; seed <= 30; ++seed) {
    const MarkScene m = mark_scene(seed);
    const Scene& s = m.scene;
    materials.insert(m.material);
    std::string problems;
    for (const std::string& p : layout_problems(s)) problems += p + "; ";
    EXPECT_EQ(problems, "") << "seed " << seed;
    EXPECT_EQ(s.panels.size(), 1U);
    EXPECT_TRUE(s.sheets.size() == 3 || s.sheets.size() == 4);
    constexpr double least_px_per_mm = 2.3;  // 1 mm chalk is over two pixels wide
    EXPECT_GT(s.camera.lens.focal_px / s.camera.pose.centre().z(), least_px_per_mm) << "seed " << seed;
    EXPECT_GE(m.contrast, 1) << "seed " << seed;
  }
  EXPECT_GT(materials.size(), 8U);
}

TEST(MarkScenes, DependOnTheSeedAndTheOptionsAlone) {
  EXPECT_EQ(truth(mark_scene(7).scene), truth(mark_scene(7).scene));
  EXPECT_NE(truth(mark_scene(7).scene)["panels"], truth(mark_scene(8).scene)["panels"]);
  EXPECT_EQ(mark_scene(7, {.material = "ribbed"}).scene.panels[0].material.covering, Covering::corduroy);
  EXPECT_THROW(mark_scene(7, {.material = "velvet"}), std::logic_error);
}

TEST(MarkScenes, ChangeNothingButTheChalkWithTheContrast) {
  const MarkScene faint = mark_scene(9, {.material = "woven", .contrast = 1.5}),
                  strong = mark_scene(9, {.material = "woven", .contrast = 6});
  EXPECT_EQ(truth(faint.scene), truth(strong.scene));
  EXPECT_NEAR(faint.contrast, 1.5, 1e-6);
  EXPECT_NEAR(strong.scene.panels[0].chalk.strength / faint.scene.panels[0].chalk.strength, strong.contrast / 1.5,
              1e-4);
}

TEST(MarkScenes, WithoutChalkHaveNoMarkAtAll) {
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    const LaidPanel p = mark_scene(seed, {.chalked = false}).scene.panels.at(0);
    EXPECT_TRUE(p.marks.empty() && p.chalk.strokes.empty() && p.needle_rows.empty() && p.awl_holes.empty());
    EXPECT_EQ(p.outline, p.seen_outline);
  }
}

TEST(MarkScenes, TellTheTruthAboutEveryKind) {
  std::set<std::string> kinds, styles;
  std::set<std::size_t> group_sizes;
  bool undirected = false, directed = false;
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    const nlohmann::json panel = truth(mark_scene(seed).scene)["panels"][0];
    std::map<int, std::size_t> groups;
    for (const auto& m : panel["marks"]) {
      const std::string kind = m["kind"];
      kinds.insert(kind);
      if (m.contains("style")) styles.insert(m["style"]);
      if (kind == "match") ++groups[m["group"]];
      if (kind == "grain") (m["directed"] ? directed : undirected) = true;
      if (kind == "hole") {
        EXPECT_GT(m["diameter_mm"], 1.4);
      }
      if (kind == "notch") {
        EXPECT_GT(m["depth_mm"], 2.9);
      }
    }
    for (const auto& [group, size] : groups) group_sizes.insert(size);
    EXPECT_EQ(panel["needle_rows"].size(), panel["needle_row_details"].size());
  }
  EXPECT_EQ(kinds, (std::set<std::string>{"match", "centre", "grain", "underside", "text", "notch", "hole"}));
  EXPECT_EQ(styles, (std::set<std::string>{"open", "filled", "vee", "round", "slit"}));
  EXPECT_EQ(group_sizes, (std::set<std::size_t>{1, 2, 3}));
  EXPECT_TRUE(directed && undirected);
}

}  // namespace
}  // namespace chalkfold::demo
