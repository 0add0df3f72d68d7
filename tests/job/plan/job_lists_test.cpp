// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/plan/job_lists.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/common/error.h"
#include "pipeline/job/job_inputs.h"
#include "pipeline/job/plan/job_plan.h"
#include "pipeline/job/run_job.h"
#include "tests/common/run_program.h"
#include "tests/job/fake_stages.h"
#include "tests/job/job_faults.h"
#include "tests/output/schema_check.h"

namespace chalkfold::job {
namespace {

using test::faults_of;
using testing::HasSubstr;

/// Two photos of a bench that share one sheet, a third by another phone.
const char* const bench = R"json({"phone": "the shop's",
  "photos": [{"file": "left.jpg", "setup": "bench"}, "other.jpg"],
  "panels": [{"name": "bench", "photos": ["left.jpg", {"file": "./right.jpg", "setup": "bench"}]},
             {"name": "seat", "photos": [{"file": "other.jpg", "phone": "the spare"}]}]})json";

TEST(JobLists, WhatIsSaidOfAPhotoIsKeptWithIt) {
  EXPECT_EQ(test::complaints("job.schema.json", nlohmann::json::parse(bench)), "");
  const JobFile job = read_job_file(bench, "job.json", "jobs");
  ASSERT_EQ(job.panels.size(), 2u);
  EXPECT_EQ(job.panels[0].photos.size(), 2u);
  const std::vector<survey::PhotoSaid> said =
      said_of(job, {"jobs/right.jpg", "jobs/other.jpg", "jobs/left.jpg", "jobs/none.jpg"});
  ASSERT_EQ(said.size(), 4u);
  EXPECT_EQ(said[0].setup, "bench");
  EXPECT_EQ(said[0].phone, "the shop's");
  EXPECT_EQ(said[1].setup, "");
  EXPECT_EQ(said[1].phone, "the spare");
  EXPECT_EQ(said[2].setup, "bench");
  EXPECT_EQ(said[3].setup, "");
  EXPECT_EQ(said[3].phone, "the shop's");
}

TEST(JobLists, NamesEveryFaultOfAPhoto) {
  const std::string bytes =
      R"json({"photos": [3, {"setup": "a"}, {"file": "a.jpg", "setup": 4, "foto": 1}, {"file": ""},
  {"file": "b.jpg", "setup": "one"},
  {"file": "b.jpg", "setup": "two"}]})json";
  const std::string wrong = faults_of(bytes);
  EXPECT_THAT(wrong, HasSubstr("photos[0]: must be a photo's file name in quotes"));
  EXPECT_THAT(wrong, HasSubstr("photos[1]: needs file"));
  EXPECT_THAT(wrong, HasSubstr("photos[2].setup: must be text in quotes"));
  EXPECT_THAT(wrong, HasSubstr("photos[2].foto: unknown key"));
  EXPECT_THAT(wrong, HasSubstr("photos[3].file: needs file"));
  EXPECT_THAT(wrong,
              HasSubstr("line 3: photos[5].setup: must be the same wherever this photo is listed; it was \"one\""));
  EXPECT_NE(test::complaints("job.schema.json", nlohmann::json::parse(bytes)), "");
  EXPECT_THAT(faults_of(R"({"photos": ["a.jpg"], "phone": 3})"), HasSubstr("phone: must be text in quotes"));
}

TEST(JobLists, TheSurveyIsToldWhatTheJobSays) {
  const test::TemporaryFolder folder;
  for (const char* photo : {"left.jpg", "right.jpg", "other.jpg"}) test::write_whole(folder / photo, photo);
  test::write_whole(folder / "job.json", bench);
  RunOptions options;
  add_json_input(folder / "job.json", options);
  options.out = folder / "out";
  NoProgress progress;
  Stages stages = test::fake_stages(std::make_shared<test::StageCounts>());
  std::vector<survey::PhotoSaid> said;
  stages.solve_survey = [&said, solve = stages.solve_survey](std::span<const capture::Sighting> sightings,
                                                             const survey::SurveyOptions& o) {
    said = o.said;
    return solve(sightings, o);
  };
  const output::Results results = run_job(options, progress, stages);
  ASSERT_EQ(said.size(), 3u);  // in the order of the photos: left, other, right
  EXPECT_EQ(said[0].setup, "bench");
  EXPECT_EQ(said[1].phone, "the spare");
  EXPECT_EQ(said[2].setup, "bench");
  EXPECT_EQ(results.options["survey"]["said"]["phone"], "the shop's");
  EXPECT_EQ(results.options["survey"]["said"]["photos"].size(), 3u);
}

}  // namespace
}  // namespace chalkfold::job
