// SPDX-License-Identifier: Apache-2.0
// What a second run into the same folder does again, and what not.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/common/error.h"
#include "pipeline/job/run_job.h"
#include "tests/common/run_program.h"
#include "tests/job/fake_stages.h"

namespace chalkfold::job {
namespace {

namespace fs = std::filesystem;

/// Wants to stop once so many items are done.
class StopAfter : public NoProgress {
 public:
  explicit StopAfter(int items) : left_(items) {}
  void advance(const std::string&) override { --left_; }
  bool stop_wanted() const override { return left_ <= 0; }

 private:
  std::atomic<int> left_;
};

class RunAgain : public testing::Test {
 protected:
  RunAgain() {
    for (const char* name : {"a.jpg", "b.jpg", "two.jpg", "bad.jpg"}) {
      test::write_whole(folder / name, name);
      options.photos.push_back(folder / name);
    }
    options.threads = 1;
    options.keep_pixels_mb = 0;
  }

  Stages stages(const std::string& maker = "maker") {
    Stages s = test::fake_stages(counts);
    const auto trace = s.trace_panels;
    s.trace_panels = [this, trace](const capture::Photo& photo, const capture::Sighting& sighting,
                                   const survey::TableView& view, const trace::TraceOptions& o,
                                   const trace::StagePicture& picture) {
      ++traces;
      return trace(photo, sighting, view, o, picture);
    };
    s.peek_photo = [](const fs::path& file, const capture::LoadOptions&) -> std::optional<capture::PhotoPeek> {
      return capture::PhotoPeek{test::fake_checksum(file), 3 * 1200 * 900};
    };
    s.maker = maker;
    return s;
  }

  output::Results run(const Stages& s) {
    counts->loads = 0;
    traces = 0;
    options.out = folder / "out";
    return run_job(options, progress, s);
  }

  test::TemporaryFolder folder;
  RunOptions options;
  NoProgress progress;
  std::shared_ptr<test::StageCounts> counts = std::make_shared<test::StageCounts>();
  std::atomic<int> traces{0};
};

TEST_F(RunAgain, NothingIsReadWhenNothingChanged) {
  const std::string once = output::results_json(run(stages()));
  EXPECT_EQ(traces, 3);
  const auto files = test::files_below(folder / "out");
  EXPECT_EQ(output::results_json(run(stages())), once);
  EXPECT_EQ(counts->loads, 0);
  EXPECT_EQ(traces, 0);
  auto again = test::files_below(folder / "out");
  // The report's footer has the time of the run.
  const auto without_report = [](auto list) {
    std::erase_if(list, [](const auto& f) { return f.first == "report.html"; });
    return list;
  };
  EXPECT_TRUE(without_report(files) == without_report(again));
}

TEST_F(RunAgain, OnlyAChangedPhotoIsDoneAgain) {
  run(stages());
  test::write_whole(folder / "b.jpg", "b.jpg, taken again");
  run(stages());
  EXPECT_EQ(traces, 1);
  EXPECT_EQ(counts->loads, 2) << "once for its sheets, once for its panels";
}

TEST_F(RunAgain, ChangedOptionsOfAStageRedoItAndWhatFollows) {
  run(stages());
  options.thickness = 2.5;
  run(stages());
  EXPECT_EQ(traces, 3);
  EXPECT_EQ(counts->loads, 3) << "sheets were found before";
  options.draft.allowance = 12;
  run(stages());
  EXPECT_EQ(traces, 0);
}

TEST_F(RunAgain, AnotherProgramOrFreshRedoesAll) {
  run(stages());
  run(stages("another build"));
  EXPECT_EQ(traces, 3);
  options.fresh = true;
  run(stages("another build"));
  EXPECT_EQ(traces, 3);
}

TEST_F(RunAgain, APictureThatWasDeletedIsMadeAgainFromItsPhoto) {
  const output::Results results = run(stages());
  const fs::path picture = folder / ("out/" + results.panels[0].picture);
  const std::string bytes = test::read_whole(picture);
  fs::remove(picture);
  run(stages());
  EXPECT_EQ(traces, 0);
  EXPECT_EQ(counts->loads, 1);
  EXPECT_EQ(test::read_whole(picture), bytes);
}

TEST_F(RunAgain, ARunForStagePicturesThrowsNothingAway) {
  run(stages());
  options.stage_pictures = folder / "stages";
  run(stages());
  EXPECT_EQ(traces, 3) << "their pictures are made while tracing";
  options.stage_pictures.clear();
  run(stages());
  EXPECT_EQ(traces, 0);
}

TEST_F(RunAgain, WhatFailedThisOnceIsTriedAgain) {
  Stages failing = stages();
  const auto load = failing.load_photo;
  failing.load_photo = [load](const fs::path& file, const capture::LoadOptions& o) -> capture::LoadResult {
    if (file.stem() == "a")
      return {std::nullopt, {{"photo-unreadable", Severity::refusal, "seen", "remedy", "a.jpg", {}}}};
    return load(file, o);
  };
  EXPECT_EQ(run(failing).panels.size(), 3u);
  EXPECT_EQ(run(stages()).panels.size(), 4u);
}

TEST_F(RunAgain, AStoppedRunKeepsWhatIsDone) {
  options.out = folder / "out";
  StopAfter stop(6);  // four photos read, two traced
  const Stages s = stages();
  EXPECT_THROW(run_job(options, stop, s), Interrupted);
  EXPECT_EQ(traces, 2);
  run(stages());
  EXPECT_EQ(traces, 1);
  EXPECT_EQ(counts->loads, 1);
}

TEST_F(RunAgain, APhotoThatNeedsMoreMemoryThanAllowedIsRefused) {
  Stages s = stages();
  s.peek_photo = [](const fs::path& file, const capture::LoadOptions&) -> std::optional<capture::PhotoPeek> {
    return capture::PhotoPeek{test::fake_checksum(file), file.stem() == "a" ? 900'000'000 : 1};
  };
  options.memory_mb = 800;
  const output::Results results = run(s);
  ASSERT_FALSE(results.photos[0].faults.empty());
  EXPECT_EQ(results.photos[0].faults[0].code, "photo-over-memory");
  EXPECT_EQ(results.exit, 1);
  EXPECT_EQ(results.panels.size(), 3u) << "the others are measured";
}

/// Else its panels would wait for room that there never is.
TEST_F(RunAgain, APhotoReadUnderAHigherCeilingIsRefusedUnderALowerOne) {
  Stages s = stages();
  s.peek_photo = [](const fs::path& file, const capture::LoadOptions&) -> std::optional<capture::PhotoPeek> {
    return capture::PhotoPeek{test::fake_checksum(file), file.stem() == "a" ? 900'000'000 : 1};
  };
  options.memory_mb = 1200;
  EXPECT_EQ(run(s).panels.size(), 4u);
  options.memory_mb = 800;
  options.thickness = 2.5;  // so that it must be traced again
  const output::Results results = run(s);
  EXPECT_EQ(results.photos[0].faults[0].code, "photo-over-memory");
  EXPECT_EQ(results.panels.size(), 3u);
}

/// A photo that was being copied while it was looked at.
TEST_F(RunAgain, WhatWasReadOfAFileThatChangedMeanwhileIsNotKept) {
  Stages s = stages();
  s.peek_photo = [](const fs::path&, const capture::LoadOptions&) -> std::optional<capture::PhotoPeek> {
    return capture::PhotoPeek{std::string(64, '0'), 1};
  };
  run(s);
  run(s);
  EXPECT_EQ(traces, 3);
}

}  // namespace
}  // namespace chalkfold::job
