// SPDX-License-Identifier: Apache-2.0
// An output folder that cannot be written: exit 3, path, reason and remedy, and no half file.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/common/run_program.h"
#include "tests/common/small_disk.h"

namespace chalkfold {

namespace {
using testing::HasSubstr;

test::ProgramRun run_into(const std::filesystem::path& photo, const std::filesystem::path& out) {
  test::write_whole(photo, "text");
  return test::run_program({CHALKFOLD_PROGRAM, "run", photo.string(), "--out", out.string()});
}
}  // namespace

TEST(BadOutput, BelowAFile) {
  const test::TemporaryFolder folder;
  test::write_whole(folder / "file", "kept");
  const test::ProgramRun run = run_into(folder / "a.jpg", folder / "file/out");
  EXPECT_EQ(run.exit, 3);
  EXPECT_THAT(run.err, HasSubstr((folder / "file/out").string() + ": Not a directory. Choose a folder"));
  EXPECT_EQ(run.out, "");
  EXPECT_EQ(test::read_whole(folder / "file"), "kept");
}

TEST(BadOutput, AFile) {
  const test::TemporaryFolder folder;
  test::write_whole(folder / "out", "kept");
  const test::ProgramRun run = run_into(folder / "a.jpg", folder / "out");
  EXPECT_EQ(run.exit, 3);
  EXPECT_EQ(test::read_whole(folder / "out"), "kept");
}

TEST(BadOutput, AFullDisk) {
  const test::SmallDisk disk(64);
  if (!disk.mounted()) GTEST_SKIP() << disk.why();
  const test::TemporaryFolder folder;
  disk.fill();
  const test::ProgramRun run = run_into(folder / "a.jpg", disk.path() / "out");
  EXPECT_EQ(run.exit, 3);
  EXPECT_THAT(run.err, HasSubstr("No space left on device. Free some space"));
  const auto files = test::files_below(disk.path());
  ASSERT_EQ(files.size(), 1u);
  EXPECT_EQ(files[0].first, "filler");
}

TEST(BadOutput, ResultsThatCannotBePrinted) {
  const test::TemporaryFolder folder;
  test::write_whole(folder / "a.jpg", "text");
  const std::string command = std::string("exec \"$0\" run \"$1\" --out \"$2\" --json --quiet > /dev/full");
  const test::ProgramRun run = test::run_program(
      {"/bin/sh", "-c", command, CHALKFOLD_PROGRAM, (folder / "a.jpg").string(), (folder / "out").string()});
  EXPECT_EQ(run.exit, 3);
  EXPECT_THAT(run.err, HasSubstr("standard output"));
}

}  // namespace chalkfold
