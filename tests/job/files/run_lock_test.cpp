// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/files/run_lock.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <optional>

#include "pipeline/common/error.h"
#include "tests/common/run_program.h"

namespace chalkfold::job {
namespace {

using testing::HasSubstr;

TEST(RunLock, TheSecondIsToldWhoHoldsTheFolder) {
  const test::TemporaryFolder folder;
  const RunLock first(folder / "out");
  try {
    const RunLock second(folder / "out");
    FAIL() << "two runs hold one folder";
  } catch (const FileError& error) {
    EXPECT_THAT(error.what(), HasSubstr("Another run is writing into " + (folder / "out").string()));
    EXPECT_THAT(error.what(), HasSubstr("process " + std::to_string(::getpid())));
    EXPECT_THAT(error.what(), HasSubstr("choose another folder"));
  }
}

TEST(RunLock, IsFreeAgainAfterwards) {
  const test::TemporaryFolder folder;
  { const RunLock first(folder / "out"); }
  EXPECT_NO_THROW(RunLock(folder / "out"));
  EXPECT_EQ(test::read_whole(folder / "out/.chalkfold/lock"), "");
}

TEST(RunLock, AFileLeftByAKilledRunHoldsNothing) {
  const test::TemporaryFolder folder;
  std::filesystem::create_directories(folder / "out/.chalkfold");
  test::write_whole(folder / "out/.chalkfold/lock", "process 1 on elsewhere\n");
  EXPECT_NO_THROW(RunLock(folder / "out"));
}

TEST(RunLock, OtherFoldersAreFree) {
  const test::TemporaryFolder folder;
  const RunLock first(folder / "a");
  EXPECT_NO_THROW(RunLock(folder / "b"));
}

TEST(StaleTemporaries, OfKilledRunsGoAndNothingElse) {
  const test::TemporaryFolder folder;
  std::filesystem::create_directories(folder / "pictures/marks");
  const auto touch = [&](const char* name) { test::write_whole(folder / name, "x"); };
  for (const char* name : {".chalkfold-a1B2c3", "pictures/.chalkfold-a1B2c3", "pictures/marks/.chalkfold-zzzzzz"})
    touch(name);
  for (const char* name : {"seat.json", ".chalkfold-notes.txt", "pictures/chalkfold-a1B2c3"}) touch(name);
  remove_stale_temporaries(folder.path());
  std::vector<std::string> left;
  for (const auto& [name, bytes] : test::files_below(folder.path())) left.push_back(name);
  EXPECT_THAT(left, testing::ElementsAre(".chalkfold-notes.txt", "pictures/chalkfold-a1B2c3", "seat.json"));
}

}  // namespace
}  // namespace chalkfold::job
