// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/plan/job_plan.h"

#include <gtest/gtest.h>

namespace chalkfold::job {
namespace {

/// The tag is read in the second photo only; in the first the panel is known because it lists it. Two names, or one file would take the other's place.
TEST(JobPlan, APanelKnownByListAndByTagHasTwoNames) {
  const std::vector<std::filesystem::path> photos = {"a.jpg", "b.jpg"};
  JobFile job;
  JobPanel seat;
  seat.name = "seat";
  seat.tag = 1;
  seat.photos = photos;
  job.panels = {seat};
  const PanelNames names(photos);
  const JobPlan plan(job, photos, {{}, {1}}, names);
  EXPECT_EQ(plan.place(0, 0, std::nullopt, 0).name, "seat");
  EXPECT_EQ(plan.place(1, 0, 1, 0).name, "seat-2");
  EXPECT_TRUE(plan.in_several_photos(job.panels[0]));
}

TEST(JobPlan, APanelOfOnePhotoHasItsOwnName) {
  const std::vector<std::filesystem::path> photos = {"a.jpg", "b.jpg"};
  JobFile job;
  JobPanel seat;
  seat.name = "seat";
  seat.tag = 1;
  job.panels = {seat};
  const PanelNames names(photos);
  const JobPlan plan(job, photos, {{}, {1}}, names);
  EXPECT_EQ(plan.place(1, 0, 1, 0).name, "seat");
  EXPECT_FALSE(plan.in_several_photos(job.panels[0]));
}

}  // namespace
}  // namespace chalkfold::job
