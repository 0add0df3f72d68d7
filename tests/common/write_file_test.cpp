// SPDX-License-Identifier: Apache-2.0
#include "pipeline/common/write_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/common/error.h"
#include "tests/common/run_program.h"
#include "tests/common/small_disk.h"

namespace chalkfold {

namespace {
namespace fs = std::filesystem;
using testing::HasSubstr;

std::string failure_of(const fs::path& file, const std::string& bytes) {
  try {
    write_file_atomically(file, bytes);
  } catch (const FileError& error) {
    EXPECT_EQ(error.exit_code(), ExitCode::file);
    return error.what();
  }
  return "";
}
}  // namespace

TEST(WriteFile, WritesAllBytesAndLeavesNothingElse) {
  const test::TemporaryFolder folder;
  std::string bytes(3'000'000, 'x');
  bytes[1234567] = '\0';
  write_file_atomically(folder / "a b.bin", bytes);
  EXPECT_EQ(test::files_below(folder.path()), (std::vector<std::pair<std::string, std::string>>{{"a b.bin", bytes}}));
}

TEST(WriteFile, ReplacesAFileAndFollowsALink) {
  const test::TemporaryFolder folder;
  write_file_atomically(folder / "real", "old");
  fs::create_symlink("real", folder / "link");
  write_file_atomically(folder / "link", "new");
  EXPECT_EQ(test::read_whole(folder / "real"), "new");
  EXPECT_TRUE(fs::is_symlink(folder / "link"));
}

TEST(WriteFile, NamesPathReasonAndRemedy) {
  const test::TemporaryFolder folder;
  test::write_whole(folder / "file", "kept");
  const std::string below_a_file = failure_of(folder / "file/x", "new");
  EXPECT_THAT(below_a_file, HasSubstr((folder / "file/x").string()));
  EXPECT_THAT(below_a_file, HasSubstr("Not a directory"));
  EXPECT_THAT(below_a_file, HasSubstr("Choose a folder"));
  EXPECT_THAT(failure_of(folder / "missing/x", "new"), HasSubstr("No such file or directory"));
  EXPECT_THAT(failure_of(folder.path(), "new"), HasSubstr("Is a directory"));
  EXPECT_THAT(failure_of("/dev/null", "new"), HasSubstr("File exists"));
  EXPECT_EQ(test::read_whole(folder / "file"), "kept");
  EXPECT_EQ(test::files_below(folder.path()).size(), 1u);
}

TEST(WriteFile, AFullDiskLeavesTheOldFileAndNoTemporary) {
  const test::SmallDisk disk(64);
  if (!disk.mounted()) GTEST_SKIP() << disk.why();
  write_file_atomically(disk.path() / "results", "old");
  const std::string message = failure_of(disk.path() / "results", std::string(200'000, 'x'));
  EXPECT_THAT(message, HasSubstr("No space left on device"));
  EXPECT_THAT(message, HasSubstr("Free some space"));
  EXPECT_EQ(test::files_below(disk.path()), (std::vector<std::pair<std::string, std::string>>{{"results", "old"}}));
}

TEST(MakeFolder, MakesParentsAndTakesWhatIsThere) {
  const test::TemporaryFolder folder;
  make_folder(folder / "a/b/c");
  make_folder(folder / "a/b/c");
  EXPECT_TRUE(fs::is_directory(folder / "a/b/c"));
  test::write_whole(folder / "file", "");
  EXPECT_THROW(make_folder(folder / "file"), FileError);
  EXPECT_THROW(make_folder(folder / "file/below"), FileError);
}

}  // namespace chalkfold
