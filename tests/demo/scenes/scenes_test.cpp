// SPDX-License-Identifier: Apache-2.0
#include "demo/scenes/scenes.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

#include "demo/camera/truth.h"
#include "demo/design/panel_design.h"
#include "demo/scenes/scene_layout.h"

namespace chalkfold::demo {
namespace {

std::string listed(const std::vector<std::string>& problems) {
  std::string out;
  for (const std::string& p : problems) out += p + "; ";
  return out;
}

TEST(GapBetween, SeesCrossingsThatNoVertexTells) {
  const Polyline across = rectangle_on_table({0, 0}, 0, 300, 20), up = rectangle_on_table({0, 0}, 0, 200, 297);
  EXPECT_EQ(gap_between(across, up), 0);
  EXPECT_EQ(gap_between(up, rectangle_on_table({10, 10}, 0.3, 20, 20)), 0) << "one inside the other";
  EXPECT_NEAR(gap_between(across, rectangle_on_table({0, 40}, 0, 300, 20)), 20, 1e-9);
  EXPECT_GT(gap_between(across, rectangle_on_table({900, 40}, 0, 300, 20)), 500);
}

TEST(LaunchScenes, HoldTheWholeSetInTheFrameAndApart) {
  std::set<std::string> seen;
  for (int k = 0; k < launch_photos; ++k) {
    const Scene s = launch_scene(k);
    EXPECT_EQ(listed(layout_problems(s)), "") << s.name;
    EXPECT_GE(s.sheets.size(), 3U) << s.name;
    EXPECT_LE(s.sheets.size(), 4U) << s.name;
    for (const LaidPanel& p : s.panels) {
      seen.insert(p.name);
      ASSERT_TRUE(p.tag) << p.name;
      EXPECT_TRUE(std::any_of(s.tags.begin(), s.tags.end(), [&](const TagOnTable& t) { return t.number == *p.tag; }))
          << p.name;
    }
  }
  for (const DesignKind kind : launch_set) EXPECT_TRUE(seen.count(panel_design(kind).name)) << panel_design(kind).name;
  EXPECT_THROW(launch_scene(launch_photos), std::logic_error);
}

TEST(LaunchScenes, TheSecondPhotoOfTheCushionShowsTheSamePanel) {
  const Scene first = launch_scene(0), again = launch_scene(5);
  const LaidPanel &a = first.panels[0], &b = again.panels[0];
  ASSERT_EQ(a.outline.size(), b.outline.size());
  const geometry::Rigid2 b_from_a = b.table_from_panel * a.table_from_panel.inverse();
  constexpr double exact_mm = 1e-9;
  for (std::size_t i = 0; i < a.outline.size(); ++i)
    ASSERT_LT((b_from_a * a.outline[i] - b.outline[i]).norm(), exact_mm);
}

TEST(ChangedScenes, AreGoodPhotographsOfOnePadThatChanged) {
  for (const bool after : {false, true}) EXPECT_EQ(listed(layout_problems(changed_scene(after))), "");
  const LaidPanel before = changed_scene(false).panels[0], after = changed_scene(true).panels[0];
  const auto distance = [](const LaidPanel& p, std::size_t a, std::size_t b) {
    std::vector<Vec2> holes;
    for (const Mark& m : p.marks)
      if (m.kind == "hole") holes.push_back(m.points[0]);
    return (holes[b] - holes[a]).norm();
  };
  constexpr double exact_mm = 1e-9;
  EXPECT_NEAR(distance(before, 0, 1), 350, exact_mm);
  EXPECT_NEAR(distance(before, 0, 2), 250, exact_mm);
  EXPECT_NEAR(distance(after, 0, 1), 350 * 1.012, exact_mm);
  EXPECT_NEAR(distance(after, 0, 2), 250 * 0.992, exact_mm);
}

TEST(RandomScenes, AreGoodPhotographs) {
  std::set<std::size_t> sheets, panels;
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    const Scene s = random_scene(seed);
    EXPECT_EQ(listed(layout_problems(s)), "") << "seed " << seed;
    sheets.insert(s.sheets.size());
    panels.insert(s.panels.size());
    EXPECT_LE(std::abs(s.print_scale.x - 1), 0.006 + 1e-12);
    for (const TagOnTable& tag : s.tags) {
      const auto nearest =
          std::min_element(s.panels.begin(), s.panels.end(), [&](const LaidPanel& a, const LaidPanel& b) {
            return geometry::distance_to(a.outline, tag.at, true) < geometry::distance_to(b.outline, tag.at, true);
          });
      EXPECT_EQ(nearest->tag, tag.number) << "seed " << seed;
    }
    EXPECT_EQ(s.sensor.shot_noise, 0);
    EXPECT_EQ(s.sensor.read_noise, 0);
  }
  EXPECT_EQ(sheets, (std::set<std::size_t>{1, 2, 3, 4}));
  EXPECT_EQ(panels, (std::set<std::size_t>{1, 2, 3}));
}

TEST(RandomScenes, DependOnTheSeedAlone) {
  EXPECT_EQ(truth(random_scene(7)), truth(random_scene(7)));
  EXPECT_NE(truth(random_scene(7))["panels"], truth(random_scene(8))["panels"]);
}

TEST(RandomScenes, ReachTheContrastAskedFor) {
  RandomSceneOptions o;
  o.contrast = 1.2;
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    const Scene s = random_scene(seed, o);
    const float panel = luminance(mean_reflectance(s.panels[0].material)), table = luminance(s.table.colour);
    EXPECT_NEAR(std::max(panel, table) / std::min(panel, table), 1.2, 1e-3);
  }
}

TEST(FaultScenes, HaveTheFaultTheyAreNamedFor) {
  EXPECT_TRUE(fault_scene(FaultScene::no_sheets).sheets.empty());
  EXPECT_EQ(fault_scene(FaultScene::one_sheet).sheets.size(), 1U);
  EXPECT_EQ(listed(layout_problems(fault_scene(FaultScene::cut_by_frame), 0)), "cushion top reaches the frame; ");
  EXPECT_EQ(listed(layout_problems(fault_scene(FaultScene::panel_over_sheet))), "sheet 1 touches cushion top; ");
  EXPECT_EQ(fault_scene(FaultScene::out_of_focus).sensor.blur_px, 6);
  EXPECT_EQ(fault_scenes().size(), 5U);
}

TEST(LensScenes, LeanToEverySideWithTheSheetsInEveryCorner) {
  const std::vector<Scene> scenes = lens_scenes();
  ASSERT_EQ(scenes.size(), 12U);
  std::array<int, 4> corners_reached{};
  std::set<int> orientations;
  for (const Scene& s : scenes) {
    const nlohmann::json told = truth(s);
    EXPECT_GE(told["tilt_deg"].get<double>(), 20) << s.name;
    EXPECT_LE(told["tilt_deg"].get<double>(), 30) << s.name;
    EXPECT_EQ(s.camera.lens.focal_px, phone_lens().focal_px) << s.name;
    EXPECT_EQ(s.camera.lens.centre_x_px, phone_lens().centre_x_px) << s.name;
    orientations.insert(s.camera.orientation);
    for (std::size_t i = 0; i < s.sheets.size(); ++i)
      for (std::size_t k = 0; k < i; ++k)
        EXPECT_GT(gap_between(rectangle_on_table(s.sheets[i].at, s.sheets[i].theta, paper_width, paper_height),
                              rectangle_on_table(s.sheets[k].at, s.sheets[k].theta, paper_width, paper_height)),
                  2);
    const calib::Lens lens = upright_lens(s.camera);
    for (const auto& sheet : told["sheets"]) {
      for (const auto& c : sheet["charuco_corners"]) {
        const Vec2 at = calib::photo_from_table(lens, s.camera.pose, {c[0].get<double>(), c[1].get<double>(), 0});
        constexpr double near_the_corner = 0.12;  // of the frame's sides
        const double x = at.x() / lens.width, y = at.y() / lens.height;
        if (x < 0 || y < 0 || x > 1 || y > 1) continue;
        if (std::min(x, 1 - x) < near_the_corner && std::min(y, 1 - y) < near_the_corner)
          ++corners_reached[(x > 0.5 ? 1U : 0U) + (y > 0.5 ? 2U : 0U)];
      }
    }
  }
  EXPECT_EQ(orientations, (std::set<int>{1, 3, 6, 8}));
  constexpr int enough = 2;  // sheet corners out there: one alone might be dropped
  for (const int reached : corners_reached) EXPECT_GE(reached, enough);
}

TEST(OneSheetScenes, ShowOnePanelWithOneSheetEach) {
  const std::vector<Scene> scenes = one_sheet_scenes();
  ASSERT_EQ(scenes.size(), 8U);
  for (const Scene& s : scenes) {
    EXPECT_EQ(listed(layout_problems(s)), "") << s.name;
    EXPECT_EQ(s.sheets.size(), 1U) << s.name;
    ASSERT_EQ(s.panels.size(), 1U) << s.name;
    EXPECT_EQ(s.panels[0].design_outline, scenes[0].panels[0].design_outline);
    EXPECT_NE(s.camera.lens.focal_px, phone_lens().focal_px) << s.name;
  }
}

TEST(FlagScene, IsAsymmetricAndGood) {
  const Scene s = flag_scene(1);
  EXPECT_EQ(listed(layout_problems(s)), "");
  EXPECT_FALSE(s.panels.at(0).symmetric);
}

}  // namespace
}  // namespace chalkfold::demo
