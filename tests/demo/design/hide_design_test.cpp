// SPDX-License-Identifier: Apache-2.0
#include "demo/design/hide_design.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "demo/scenes/scenes.h"
#include "pipeline/geometry/outline_registration.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::demo {
namespace {

Polyline outline_of(const PanelDesign& design) {
  Polyline out;
  for (const DesignEdge& edge : design.edges)
    for (const Vec2& p : sampled(edge, 2)) out.push_back(p);
  return out;
}

TEST(HideDesign, RingsAndHolesLieApartWithinTheOutline) {
  constexpr double clear = 15;  // mm: what lies nearer to an edge could be taken for its halo
  for (const PanelDesign& design : {hide_design(), offcut_design()}) {
    const Polyline outline = outline_of(design);
    EXPECT_GT(geometry::signed_area(outline), 0);
    std::vector<Polyline> things = design.holes;
    for (const RingAt& ring : design.rings) things.push_back(ring_line(ring));
    ASSERT_GE(design.rings.size(), 3u);
    for (std::size_t i = 0; i < things.size(); ++i) {
      for (const Vec2& p : things[i]) {
        EXPECT_TRUE(geometry::contains(outline, p));
        EXPECT_GT(geometry::distance_to(outline, p, true), clear) << design.name << " " << i;
        for (std::size_t j = 0; j < i; ++j) EXPECT_GT(geometry::distance_to(things[j], p, true), clear) << design.name;
      }
    }
  }
}

TEST(HideDesign, TheHideIsNotItsOwnMirrorImage) {
  const Polyline outline = outline_of(hide_design());
  Polyline mirrored = outline;
  for (Vec2& p : mirrored) p.x() = -p.x();
  std::reverse(mirrored.begin(), mirrored.end());
  constexpr double far = 5;  // mm rms: well over anything that a measurement is off by
  EXPECT_GT(geometry::register_outlines(geometry::ClosedOutline(mirrored), geometry::ClosedOutline(outline))
                .front()
                .rigid_rms,
            far);
}

TEST(HideDesign, ARingRunsPastItsBeginningOrStopsShort) {
  for (const double past : {-6.0, 12.0}) {
    const RingAt ring{.across = 60, .other = 60, .past = past};
    const Polyline line = ring_line(ring);
    EXPECT_NEAR(geometry::length(line, false), 2 * M_PI * 30 + past, 0.08 * 2 * M_PI * 30) << "with its waver";
    if (past < 0) {
      EXPECT_GT((line.back() - line.front()).norm(), 4);
    }
  }
}

TEST(HideScenes, EachPhotoShowsAPartAndTheTruthHasItsRings) {
  const std::vector<Scene> scenes = hide_scenes(1008);
  ASSERT_EQ(scenes.size(), 2u);
  for (const Scene& scene : scenes) {
    ASSERT_EQ(scene.panels.size(), 1u);
    const auto rings = std::count_if(scene.panels[0].marks.begin(), scene.panels[0].marks.end(),
                                     [](const Mark& mark) { return mark.kind == "ring"; });
    EXPECT_EQ(rings, 3);
    EXPECT_EQ(scene.panels[0].holes.size(), 1u);
    EXPECT_EQ(scene.panels[0].outline, scenes[0].panels[0].outline) << "one hide, in one place";
  }
  EXPECT_GT(offcut_scene(1, 6, "grained-leather", 1008).panels[0].chalk.strength,
            offcut_scene(1, 3, "grained-leather", 1008).panels[0].chalk.strength);
}

}  // namespace
}  // namespace chalkfold::demo
