// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/plan/job_seams.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/common/error.h"
#include "tests/job/job_faults.h"
#include "tests/output/schema_check.h"

namespace chalkfold::job {
namespace {

using test::faults_of;
using testing::AllOf;
using testing::HasSubstr;

const char* const sewn_job = R"json({
  "measured": ["out/measured/cushion top.json", "out/measured/front.json"],
  "panels": [{"name": "cushion top", "fixed": true}, {"name": "front", "wear_percent": 2.5}],
  "seams": [
    {"a": "cushion top/1", "b": "front/3", "ease_mm": -4, "group": "centre", "order": 2, "fit_on_seat": true, "note": "piping"},
    {"number": 1, "a": "front/4:start-1", "b": "front/2-3 mirrored", "runs": "with"}],
  "set": {"wear_percent": 1.5, "wear": "either", "tolerance_mm": 3, "tolerance_percent": 0.5, "mark_tolerance_mm": 4,
          "move_limit_mm": 9, "adjust": false}
})json";

TEST(JobSeams, AreReadWithAllThatIsSaidOfThem) {
  const JobFile job = read_job_file(sewn_job, "job.json", "jobs");
  ASSERT_EQ(job.seams.size(), 2u);
  const draft::SeamAsked &first = job.seams[0], &second = job.seams[1];
  EXPECT_EQ(first.number, 2) << "1 is taken by the other";
  EXPECT_EQ(draft::to_text(first.a), "cushion top/1");
  EXPECT_EQ(first.ease, -4);
  EXPECT_EQ(first.group, draft::SewingGroup::centre);
  EXPECT_EQ(first.order, 2);
  EXPECT_TRUE(first.fit_on_seat);
  EXPECT_EQ(first.note, "piping");
  EXPECT_EQ(first.run, draft::SeamRun::automatic);
  EXPECT_EQ(second.run, draft::SeamRun::with);
  EXPECT_EQ(draft::to_text(second.b), "front/2-3 mirrored");
  EXPECT_TRUE(job.panels[0].fixed);
  EXPECT_DOUBLE_EQ(*job.panels[1].wear, 0.025);
  EXPECT_EQ(job.measured[1], "jobs/out/measured/front.json");
  EXPECT_DOUBLE_EQ(*job.set.wear, 0.015);
  EXPECT_EQ(job.set.wear_kind, draft::WearKind::either);
  EXPECT_EQ(job.set.tolerance, 3);
  EXPECT_DOUBLE_EQ(*job.set.tolerance_share, 0.005);
  EXPECT_EQ(job.set.mark_tolerance, 4);
  EXPECT_EQ(job.set.move_limit, 9);
  EXPECT_EQ(job.set.adjust, false);
}

TEST(JobSeams, FitTheSchema) {
  const auto json = nlohmann::json::parse(sewn_job);
  EXPECT_EQ(test::complaints("job.schema.json", json), "");
  auto wrong = json;
  wrong["seams"][0]["a"] = "cushion top";
  EXPECT_NE(test::complaints("job.schema.json", wrong), "");
}

TEST(JobSeams, SlipsAreToldWithTheirLineAndTheNearestName) {
  const std::string told = faults_of(R"json({
  "panels": [{"name": "cushion top", "tag": 1}, {"name": "front", "tag": 2}],
  "seams": [
    {"a": "cushion tob/1", "b": "front/3"},
    {"a": "cushion top", "b": 7},
    {"a": "front/1"},
    {"a": "front/1", "b": "front/2", "easy_mm": 2, "number": 4},
    {"a": "front/1", "b": "front/2", "runs": "up", "number": 4}],
  "set": {"ajust": true}
})json");
  EXPECT_THAT(told, HasSubstr("line 4: seams[0].a: there is no panel \"cushion tob\"; did you mean \"cushion top\"?"));
  EXPECT_THAT(told, HasSubstr("line 5: seams[1].a: \"cushion top\" is no side of a seam: it names no edge"));
  EXPECT_THAT(told, HasSubstr("line 5: seams[1].b: must name a piece and an edge"));
  EXPECT_THAT(told, HasSubstr("line 6: seams[2]: has no b"));
  EXPECT_THAT(told, AllOf(HasSubstr("line 7: seams[3].easy_mm"), HasSubstr("did you mean ease_mm?")));
  EXPECT_THAT(told, HasSubstr("line 8: seams[4].number: 4 is the number of another seam"));
  EXPECT_THAT(told, HasSubstr("seams[4].runs: must be one of auto, against, with"));
  EXPECT_THAT(told, AllOf(HasSubstr("set.ajust"), HasSubstr("did you mean adjust?")));
}

TEST(JobSeams, APanelNeedsPhotosOrATagUnlessItWasMeasuredBefore) {
  EXPECT_THAT(faults_of(R"({"photos": ["a.jpg"], "panels": [{"name": "front"}]})"), HasSubstr("needs photos or a tag"));
  EXPECT_EQ(faults_of(R"({"measured": ["a.json"], "panels": [{"name": "front"}]})"), "");
}

}  // namespace
}  // namespace chalkfold::job
