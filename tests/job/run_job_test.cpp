// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/run_job.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>

#include "pipeline/common/error.h"
#include "tests/common/run_program.h"
#include "tests/job/fake_stages.h"
#include "tests/output/schema_check.h"

namespace chalkfold::job {

namespace {
namespace fs = std::filesystem;
using testing::Contains;
using testing::ElementsAre;
using testing::Not;

/// A folder of photo files for the fake stages, and a run over them.
class RunJob : public testing::Test {
 protected:
  fs::path photo(const std::string& name) {
    const fs::path file = folder / ("in/" + name);
    fs::create_directories(file.parent_path());
    test::write_whole(file, name);
    options.photos.push_back(file);
    return file;
  }
  output::Results run() {
    options.out = folder / "out";
    return run_job(options, progress, test::fake_stages(counts));
  }
  static std::vector<std::string> codes(const Faults& faults) {
    std::vector<std::string> found;
    for (const Fault& fault : faults) found.push_back(fault.code);
    return found;
  }
  std::vector<std::string> panel_names(const output::Results& results) {
    std::vector<std::string> found;
    for (const output::PanelRecord& record : results.panels) found.push_back(record.panel.name);
    return found;
  }
  bool written(const std::string& name) {
    const fs::path out = folder / "out";
    const int there =
        fs::exists(out / ("measured/" + name + ".dxf")) + fs::exists(out / ("measured/" + name + ".svg")) +
        fs::exists(out / ("measured/" + name + ".json")) + fs::exists(out / ("pictures/" + name + ".jpg"));
    EXPECT_TRUE(there == 0 || there == 4) << name << ": " << there << " of 4 files";
    return there == 4;
  }

  test::TemporaryFolder folder;
  RunOptions options;
  NoProgress progress;
  std::shared_ptr<test::StageCounts> counts = std::make_shared<test::StageCounts>();
};

/// Checks the order that Progress promises.
class RecordingProgress : public Progress {
 public:
  void begin(const std::string& what, std::size_t total) override {
    lines.push_back(fmt::format("{} of {}", what, total));
  }
  void advance(const std::string&) override { ++items; }
  void end() override { lines.push_back(fmt::format("{} done", std::exchange(items, 0))); }
  std::vector<std::string> lines;
  int items = 0;
};
}  // namespace

TEST_F(RunJob, MeasuresAndWritesEverything) {
  photo("seat top.jpg");
  photo("two.jpg");
  options.thickness = 1.2;
  const output::Results results = run();
  EXPECT_EQ(results.exit, 0);
  EXPECT_THAT(panel_names(results), ElementsAre("seat top", "two", "two-2"));
  for (const char* name : {"seat top", "two", "two-2"}) EXPECT_TRUE(written(name));
  EXPECT_THAT(results.photos[1].panels, ElementsAre("two", "two-2"));
  EXPECT_THAT(codes(results.faults), ElementsAre("print-scale-unmeasured", "allowance-assumed"));
  EXPECT_THAT(codes(results.photos[0].faults), ElementsAre("strong-tilt"))
      << "the survey's fault of a photo goes to that photo";
  EXPECT_TRUE(fs::exists(folder / "out/report.html"));
}

TEST_F(RunJob, ResultsFitTheirSchemas) {
  for (const char* name : {"a.jpg", "bad.jpg", "lost.jpg", "cut.jpg", "three.jpg"}) photo(name);
  run();
  const auto parsed = [&](const char* file) { return nlohmann::json::parse(test::read_whole(folder / file)); };
  EXPECT_EQ(test::complaints("results.schema.json", parsed("out/results.json")), "");
  EXPECT_EQ(test::complaints("panel.schema.json", parsed("out/measured/three-2.json")), "");
}

TEST_F(RunJob, OneBadPhotoAmongTenStopsNoOther) {
  for (int i = 0; i < 10; ++i) photo(i == 4 ? "bad.jpg" : fmt::format("p{}.jpg", i));
  const output::Results results = run();
  EXPECT_EQ(results.exit, 1);
  EXPECT_EQ(results.panels.size(), 9u);
  ASSERT_EQ(results.photos.size(), 10u);
  EXPECT_EQ(results.photos[4].name, "bad.jpg");
  EXPECT_THAT(codes(results.photos[4].faults), ElementsAre("photo-not-a-picture"));
  EXPECT_FALSE(written("bad"));
  for (const output::PanelRecord& record : results.panels) EXPECT_TRUE(written(record.panel.name));
}

TEST_F(RunJob, AStageThatThrowsRefusesItsPhotoOnly) {
  photo("a.jpg");
  photo("throws.jpg");
  const output::Results results = run();
  EXPECT_EQ(results.exit, 1);
  EXPECT_TRUE(written("a"));
  EXPECT_FALSE(written("throws"));
  const Fault& fault = results.photos[1].faults.back();
  EXPECT_EQ(fault.code, "photo-failed");
  EXPECT_THAT(fault.seen, testing::HasSubstr("edge of 0 points"));
}

TEST_F(RunJob, ARefusedPanelGivesNoOutline) {
  photo("cut.jpg");
  const output::Results results = run();
  EXPECT_EQ(results.exit, 1);
  ASSERT_EQ(results.panels.size(), 1u);
  EXPECT_FALSE(written("cut"));
  EXPECT_TRUE(results.panels[0].files.empty());
  EXPECT_TRUE(results.photos[0].panels.empty());
  EXPECT_EQ(results.panels[0].panel.faults[0].panel, "cut");
}

TEST_F(RunJob, APhotoWithoutACameraIsRefused) {
  photo("lost.jpg");
  const output::Results results = run();
  EXPECT_EQ(results.exit, 1);
  EXPECT_THAT(codes(results.photos[0].faults), ElementsAre("not-surveyed"));
  EXPECT_FALSE(results.photos[0].camera.has_value());
}

TEST_F(RunJob, SameBytesForAnyThreadCountAndMemory) {
  for (int i = 0; i < 8; ++i) photo(fmt::format("{}{}.jpg", i % 3 == 0 ? "three" : "p", i));
  photo("bad.jpg");
  ::setenv("SOURCE_DATE_EPOCH", "1000000000", 1);
  std::vector<std::vector<std::pair<std::string, std::string>>> outputs;
  for (const auto& [threads, keep] : std::vector<std::pair<int, double>>{{1, 0}, {1, 1000}, {2, 5}, {4, 0}}) {
    options.threads = threads;
    options.keep_pixels_mb = keep;
    fs::remove_all(folder / "out");
    run();
    outputs.push_back(test::files_below(folder / "out"));
  }
  ::unsetenv("SOURCE_DATE_EPOCH");
  EXPECT_EQ(outputs[0].size(), 14u * (4 + 5) + 4)
      << "nothing but panels, pieces, the set, results and report; no temporary";
  for (std::size_t i = 1; i < outputs.size(); ++i) EXPECT_EQ(outputs[i], outputs[0]) << "run " << i;
}

TEST_F(RunJob, KeepsTheThreadsItWasGiven) {
  for (int i = 0; i < 12; ++i) photo(fmt::format("p{}.jpg", i));
  options.threads = 1;
  run();
  EXPECT_EQ(counts->most_loading, 1);
  counts->most_loading = 0;
  options.threads = 2;
  run();
  EXPECT_LE(counts->most_loading, 2);
}

TEST_F(RunJob, KeepsPixelsWithinItsMemory) {
  for (int i = 0; i < 3; ++i) photo(fmt::format("p{}.jpg", i));
  options.keep_pixels_mb = 0;
  run();
  EXPECT_EQ(counts->loads, 6) << "each photo once a pass";
  counts->loads = 0;
  options.keep_pixels_mb = 7;  // two of 1200 x 900 x 3 bytes
  run();
  EXPECT_EQ(counts->loads, 4);
}

TEST_F(RunJob, APhotoThatChangesMeanwhileIsRefused) {
  const fs::path file = photo("a.jpg");
  options.keep_pixels_mb = 0;
  options.out = folder / "out";
  Stages stages = test::fake_stages(counts);
  const auto solve = stages.solve_survey;
  stages.solve_survey = [&](std::span<const capture::Sighting> sightings, const survey::SurveyOptions& survey) {
    test::write_whole(file, "another picture");
    return solve(sightings, survey);
  };
  const output::Results results = run_job(options, progress, stages);
  EXPECT_THAT(codes(results.photos[0].faults), Contains("photo-changed"));
  EXPECT_FALSE(written("a"));
}

TEST_F(RunJob, NothingToReadIsAFileErrorAndWritesNothing) {
  options.photos = {folder / "missing.jpg", folder.path()};
  try {
    run();
    FAIL() << "a run over nothing must not succeed";
  } catch (const FileError& error) {
    EXPECT_THAT(error.what(), testing::HasSubstr("missing.jpg: there is no such file"));
    EXPECT_THAT(error.what(), testing::HasSubstr("is a folder"));
  }
  EXPECT_FALSE(fs::exists(folder / "out"));
}

TEST_F(RunJob, AnOutputFolderThatCannotBeIsAFileErrorBeforeAnyWork) {
  photo("a.jpg");
  test::write_whole(folder / "out", "a file");
  EXPECT_THROW(run(), FileError);
  EXPECT_EQ(counts->loads, 0);
  EXPECT_EQ(test::read_whole(folder / "out"), "a file");
}

TEST_F(RunJob, LeavesStrangersFilesAloneAndTellsOfOlderOnes) {
  photo("a.jpg");
  run();
  test::write_whole(folder / "out/notes.txt", "mine");
  test::write_whole(folder / "out/measured/old.dxf", "older");
  const output::Results results = run();
  EXPECT_EQ(test::read_whole(folder / "out/notes.txt"), "mine");
  EXPECT_EQ(test::read_whole(folder / "out/measured/old.dxf"), "older");
  ASSERT_EQ(results.faults.back().code, "older-files");
  EXPECT_THAT(results.faults.back().seen, testing::HasSubstr("measured/old.dxf"));
}

TEST_F(RunJob, SameFileNamesInTwoFoldersStayApart) {
  photo("left/seat.jpg");
  photo("right/seat.jpg");
  const output::Results results = run();
  EXPECT_THAT(panel_names(results), ElementsAre("seat", "seat-2"));
  EXPECT_NE(results.photos[0].name, results.photos[1].name);
  EXPECT_THAT(codes(results.photos[0].faults), ElementsAre("strong-tilt")) << "each hears of its own faults only";
}

TEST_F(RunJob, APhotoNamedTwiceIsMeasuredOnce) {
  const fs::path file = photo("a.jpg");
  options.photos.push_back(file.parent_path() / "../in/a.jpg");
  const output::Results results = run();
  EXPECT_EQ(results.panels.size(), 1u);
  EXPECT_THAT(codes(results.faults), Contains("photo-given-twice"));
}

TEST_F(RunJob, SaysWhenTheThicknessIsAnAssumption) {
  photo("a.jpg");
  const output::Results assumed = run();
  EXPECT_THAT(codes(assumed.faults), Contains("thickness-assumed"));
  EXPECT_EQ(assumed.panels[0].thickness_sigma, 0.8);
  options.thickness = 1.2;
  const output::Results given = run();
  EXPECT_THAT(codes(given.faults), Not(Contains("thickness-assumed")));
  EXPECT_EQ(given.panels[0].thickness_sigma, trace::TraceOptions{}.thickness_sigma);
}

TEST_F(RunJob, LeavesStagePicturesWhenAsked) {
  photo("seat top.jpg");
  options.stage_pictures = folder / "stages";
  run();
  EXPECT_TRUE(fs::exists(folder / "stages/seat top-coarse.png"));
}

TEST_F(RunJob, TellsItsProgress) {
  photo("a.jpg");
  photo("bad.jpg");
  options.out = folder / "out";
  RecordingProgress recording;
  run_job(options, recording, test::fake_stages(counts));
  EXPECT_THAT(recording.lines, ElementsAre("reading photos of 2", "2 done", "measuring panels of 2", "2 done",
                                           "drafting pieces of 1", "1 done"));
}

}  // namespace chalkfold::job
