// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/join_stage.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>

#include "pipeline/geometry/polygon.h"
#include "tests/common/run_program.h"
#include "tests/job/fake_stages.h"
#include "tests/output/flag_panel.h"

namespace chalkfold::job {
namespace {

namespace fs = std::filesystem;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

/// Photos by name for the fake stages, all named for one panel of a job unless loose.
class JoinStage : public testing::Test {
 protected:
  output::Results run(const std::vector<std::string>& names, bool in_a_job, int threads = 1) {
    RunOptions options;
    options.thickness = 1.2;
    options.threads = threads;
    options.out = folder / "out";
    JobPanel seat;
    seat.name = "seat";
    for (const std::string& name : names) {
      test::write_whole(folder / name, name.starts_with("copy") ? "one picture" : name);
      options.photos.push_back(folder / name);
    }
    if (in_a_job) {
      seat.photos = options.photos;
      options.job = JobFile{};
      options.job->panels = {seat};
    }
    fs::remove_all(options.out);
    return run_job(options, progress, test::fake_stages(std::make_shared<test::StageCounts>()));
  }
  static std::vector<std::string> measured(const output::Results& results) {
    std::vector<std::string> found;
    for (const output::PanelRecord& record : results.panels)
      if (output::is_measured(record)) found.push_back(record.panel.name);
    return found;
  }
  static const Fault* told(const output::Results& results, const std::string& code) {
    for (const output::PhotoRecord& photo : results.photos)
      for (const Fault& f : photo.faults)
        if (f.code == code) return &f;
    for (const output::PanelRecord& record : results.panels)
      for (const Fault& f : record.panel.faults)
        if (f.code == code) return &f;
    return nullptr;
  }

  test::TemporaryFolder folder;
  NoProgress progress;
};

TEST_F(JoinStage, PartsOfOneSetupBecomeOnePanel) {
  const output::Results results = run({"part-one.jpg", "part-two.jpg"}, false);
  EXPECT_EQ(results.exit, 0);
  ASSERT_THAT(measured(results), ElementsAre("part-one"));
  const output::PanelRecord& record = results.panels[0];
  EXPECT_THAT(record.photos, ElementsAre("part-one.jpg", "part-two.jpg"));
  EXPECT_NEAR(geometry::signed_area(record.panel.outline.points),
              geometry::signed_area(test::flag_panel().outline.points), 5);
  for (const output::PhotoRecord& photo : results.photos) EXPECT_THAT(photo.panels, ElementsAre("part-one"));
  for (const char* file : {"measured/part-one.dxf", "measured/part-one.json", "pictures/part-one.jpg"})
    EXPECT_TRUE(fs::exists(folder / ("out/" + std::string(file)))) << file;
}

TEST_F(JoinStage, OnePictureUnderTwoNamesCountsOnce) {
  const output::Results results = run({"copy-a.jpg", "copy-b.jpg"}, true);
  EXPECT_EQ(results.exit, 0);
  EXPECT_THAT(measured(results), ElementsAre("seat"));
  const Fault* fault = told(results, "photo-given-twice");
  ASSERT_TRUE(fault);
  EXPECT_EQ(fault->photo, "copy-b.jpg");
  EXPECT_THAT(fault->seen, HasSubstr("copy-a.jpg"));
}

TEST_F(JoinStage, ACopyAmongLoosePhotosIsNoPanelOfItsOwn) {
  const output::Results results = run({"copy-a.jpg", "copy-b.jpg"}, false);
  EXPECT_EQ(results.exit, 0);
  EXPECT_THAT(measured(results), ElementsAre("copy-a"));
  ASSERT_TRUE(told(results, "photo-given-twice"));
}

TEST_F(JoinStage, APartAloneIsRefusedWithItsRemedy) {
  const output::Results results = run({"part-one.jpg"}, false);
  EXPECT_EQ(results.exit, 1);
  EXPECT_THAT(measured(results), testing::IsEmpty());
  const Fault* fault = told(results, "panel-cut-by-frame");
  ASSERT_TRUE(fault);
  EXPECT_EQ(fault->photo, "part-one.jpg");
  EXPECT_EQ(fault->severity, Severity::refusal);
}

TEST_F(JoinStage, PartsThatLeaveAGapAreToldIt) {
  const output::Results results = run({"part-one.jpg", "part-one-2.jpg"}, true);
  EXPECT_EQ(results.exit, 1);
  const Fault* fault = told(results, "panel-cut-by-frame");
  ASSERT_TRUE(fault);
  EXPECT_THAT(fault->seen,
              testing::ContainsRegex("the photos of it together leave 1[0-9][0-9] mm"));  // across the flag
  EXPECT_THAT(fault->seen, HasSubstr("mm of its outline unseen"));
  EXPECT_EQ(fault->panel, "seat");
}

TEST_F(JoinStage, PartsOfAPanelThatWasMovedGiveNoOutline) {
  const output::Results results = run({"part-one.jpg", "part-two-moved.jpg"}, true);
  EXPECT_EQ(results.exit, 1);
  EXPECT_THAT(measured(results), testing::IsEmpty());
  EXPECT_FALSE(fs::exists(folder / "out/measured/seat.dxf"));
  // Where one photo takes over from the other the outline has a step, which is told as a gap.
  const Fault* fault = told(results, "panel-cut-by-frame");
  ASSERT_TRUE(fault);
  EXPECT_THAT(fault->seen, HasSubstr("mm of its outline unseen"));
}

TEST_F(JoinStage, PartsInDifferentSetupsAreRefused) {
  const output::Results results = run({"part-one.jpg", "part-two-again.jpg"}, true);
  EXPECT_EQ(results.exit, 1);
  EXPECT_THAT(measured(results), testing::IsEmpty());
  ASSERT_TRUE(told(results, "panel-cut-by-frame"));
}

TEST_F(JoinStage, AWholePanelInTwoSetupsIsLaidOnItself) {
  const output::Results results = run({"a.jpg", "b-again.jpg"}, true);
  EXPECT_EQ(results.exit, 0);
  EXPECT_THAT(measured(results), ElementsAre("seat"));
  EXPECT_THAT(results.panels[0].photos, ElementsAre("a.jpg", "b-again.jpg"));
  EXPECT_EQ(results.panels[0].panel.cutouts.size(), 1u);
}

TEST_F(JoinStage, AnotherPanelUnderTheNameIsMeasuredByItself) {
  const output::Results results = run({"a.jpg", "other-again.jpg"}, true);
  EXPECT_THAT(measured(results), ElementsAre("seat", "seat-2"));
  const Fault* fault = told(results, "photos-differ");
  ASSERT_TRUE(fault);
  EXPECT_EQ(fault->photo, "other-again.jpg");
}

TEST_F(JoinStage, APartInAnotherSetupIsNotMissedWhereWholeOnesAreMeasured) {
  const output::Results results = run({"a.jpg", "part-one-again.jpg"}, true);
  EXPECT_EQ(results.exit, 0);
  EXPECT_EQ(measured(results).size(), 1u);
  ASSERT_TRUE(told(results, "panel-cut-by-frame"));
  EXPECT_EQ(told(results, "panel-cut-by-frame")->severity, Severity::warning);
}

TEST_F(JoinStage, SameBytesForAnyThreadCountInTheOrderOfThePhotos) {
  ::setenv("SOURCE_DATE_EPOCH", "1000000000", 1);
  const std::vector<std::string> names = {"z-again.jpg", "part-one.jpg", "a-again.jpg", "part-two.jpg"};
  const output::Results results = run(names, false, 1);
  EXPECT_THAT(measured(results), ElementsAre("z-again", "part-one", "a-again"));
  const auto bytes = test::files_below(folder / "out");
  run(names, false, 4);
  EXPECT_EQ(test::files_below(folder / "out"), bytes);
  ::unsetenv("SOURCE_DATE_EPOCH");
}

}  // namespace
}  // namespace chalkfold::job
