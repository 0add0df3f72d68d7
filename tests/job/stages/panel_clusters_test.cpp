// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/panel_clusters.h"

#include <gtest/gtest.h>

namespace chalkfold::job {
namespace {

Polyline box(double x, double y, double width, double height) {
  return geometry::resample_closed({{x, y}, {x + width, y}, {x + width, y + height}, {x, y + height}},
                                   static_cast<std::size_t>(2 * (width + height)));
}

/// Photos of one setup unless said otherwise; panels in table mm.
class PanelClusters : public testing::Test {
 protected:
  PanelClusters() : panels(2) {
    panels[0].name = "bench";
    panels[1].name = "mat";
  }
  std::size_t photo(int setup = 0) {
    tasks.emplace_back();
    tasks.back().index = tasks.size() - 1;
    survey.setup_of_sighting.push_back(setup);
    return tasks.size() - 1;
  }
  WaitingPanel& whole(std::size_t task, Polyline outline, const JobPanel* of = nullptr, bool by_tag = false) {
    WaitingPanel w;
    w.traced.panel.outline.points = std::move(outline);
    w.whole = true;
    w.of = of;
    w.by_tag = by_tag;
    tasks[task].waiting.push_back(std::move(w));
    return tasks[task].waiting.back();
  }
  /// What a photo that ends at x from..to shows of an outline.
  WaitingPanel& part(std::size_t task, Polyline outline, double from, double to, const JobPanel* of = nullptr,
                     bool by_tag = false) {
    for (Vec2& p : outline) p.x() = std::clamp(p.x(), from - 10, to + 10);
    WaitingPanel& w = whole(task, std::move(outline), of, by_tag);
    w.whole = false;
    w.traced.seen = {{from, -900}, {to, -900}, {to, 900}, {from, 900}};
    return w;
  }
  void measured(std::size_t task, Polyline outline) {
    output::PanelRecord record;
    record.panel.outline.points = std::move(outline);
    tasks[task].panels.push_back(std::move(record));
  }
  std::vector<PanelCluster> clusters() const { return cluster_panels(tasks, survey); }

  std::vector<JobPanel> panels;
  std::vector<PhotoTask> tasks;
  survey::Survey survey;
};

TEST_F(PanelClusters, OverlappingPartsOfOneSetupAreOnePanel) {
  part(photo(), box(0, 0, 1500, 450), -100, 900);
  part(photo(), box(0, 0, 1500, 450), 600, 1600);
  ASSERT_EQ(clusters().size(), 1u);
  EXPECT_EQ(clusters()[0].members.size(), 2u);
}

TEST_F(PanelClusters, PartsOfDifferentSetupsAreNot) {
  part(photo(0), box(0, 0, 1500, 450), -100, 900);
  part(photo(1), box(0, 0, 1500, 450), 600, 1600);
  EXPECT_EQ(clusters().size(), 2u);
}

TEST_F(PanelClusters, APartThatAnotherPhotoShowsWholeIsLeftOut) {
  measured(photo(), box(0, 0, 600, 450));
  part(photo(), box(0, 0, 600, 450), 300, 1600);
  EXPECT_TRUE(clusters().empty());
}

TEST_F(PanelClusters, APartIsNotLostToAnotherPanelThatLayThereBefore) {
  measured(photo(), box(0, 0, 600, 450));
  part(photo(), box(20, -60, 900, 480), 300, 1600);
  EXPECT_EQ(clusters().size(), 1u);
}

TEST_F(PanelClusters, NeighboursAreNotUnited) {
  // Both run off the lower border of one photo and are seen to their lower ends in another.
  const std::size_t a = photo(), b = photo();
  part(a, box(0, 0, 500, 450), -100, 1100);
  part(a, box(502, 0, 500, 450), -100, 1100);
  part(b, box(0, 0, 500, 450), -100, 1200);
  part(b, box(502, 0, 500, 450), -100, 1200);
  const auto found = clusters();
  ASSERT_EQ(found.size(), 2u);
  for (const PanelCluster& c : found) {
    ASSERT_EQ(c.members.size(), 2u);
    EXPECT_EQ(c.members[0].index, c.members[1].index);
  }
}

TEST_F(PanelClusters, PanelsLaidInOnePlaceOneAfterTheOtherStayTwo) {
  // The sheets stay on the table, the panels are changed: alike in shape or not, each in two photos.
  for (const double taller : {0.0, 80.0}) {
    tasks.clear();
    for (const std::size_t p : {0u, 0u, 1u, 1u})
      whole(photo(), box(0, 0, 600, 450 + taller * static_cast<double>(p)), &panels[p]);
    const auto found = clusters();
    ASSERT_EQ(found.size(), 2u) << taller;
    EXPECT_EQ(found[0].of, panels.data());
    EXPECT_EQ(found[1].of, &panels[1]);
  }
}

TEST_F(PanelClusters, PartsOfPanelsLaidInOnePlaceOneAfterTheOtherStayTwo) {
  for (const double out : {0.0, 25.0}) {
    part(photo(), box(0, -out, 1500, 450 + out), -100, 900);
    part(photo(), box(0, -out, 1500, 450 + out), 600, 1600);
  }
  EXPECT_EQ(clusters().size(), 2u);
}

TEST_F(PanelClusters, OneNameBindsAcrossSetups) {
  whole(photo(0), box(0, 0, 600, 450), panels.data());
  whole(photo(1), box(100, 50, 600, 450), panels.data());
  ASSERT_EQ(clusters().size(), 1u);
  EXPECT_EQ(clusters()[0].of, panels.data());
}

TEST_F(PanelClusters, TagsOfTwoAtOnePanelAreBothKnown) {
  part(photo(), box(0, 0, 1500, 450), -100, 900, panels.data(), true);
  part(photo(), box(0, 0, 1500, 450), 600, 1600, &panels[1], true);
  const auto found = clusters();
  ASSERT_EQ(found.size(), 1u);
  EXPECT_EQ(found[0].of, panels.data());
  EXPECT_EQ(found[0].also, std::vector<const JobPanel*>{&panels[1]});
}

TEST_F(PanelClusters, ATagGoesBeforeAListedPhoto) {
  part(photo(), box(0, 0, 1500, 450), -100, 900, panels.data(), false);
  part(photo(), box(0, 0, 1500, 450), 600, 1600, &panels[1], true);
  ASSERT_EQ(clusters().size(), 1u);
  EXPECT_EQ(clusters()[0].of, &panels[1]);
}

}  // namespace
}  // namespace chalkfold::job
