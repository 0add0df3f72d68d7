// SPDX-License-Identifier: Apache-2.0
// A folder of photos stands for the photos in it.
#include "pipeline/job/plan/photo_folder.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/common/error.h"
#include "tests/common/run_program.h"

namespace chalkfold::job {
namespace {

using testing::HasSubstr;

TEST(PhotoFolder, ItsPhotosByNameAndNothingElse) {
  const test::TemporaryFolder folder;
  for (const char* name : {"b.JPG", "a.jpeg", "c.heic", ".hidden.jpg", "notes.txt", "job.json"})
    test::write_whole(folder / name, "x");
  std::filesystem::create_directories(folder / "d.jpg");
  test::write_whole(folder / "d.jpg" / "within.jpg", "x");
  const std::vector<std::filesystem::path> expected{folder / "a.jpeg", folder / "b.JPG", folder / "c.heic"};
  EXPECT_EQ(photos_in(folder.path()), expected);
}

TEST(PhotoFolder, WithoutPhotosItSaysSo) {
  const test::TemporaryFolder folder;
  test::write_whole(folder / "notes.txt", "x");
  try {
    photos_in(folder.path());
    FAIL();
  } catch (const FileError& error) {
    EXPECT_THAT(error.what(), HasSubstr("no photo in this folder"));
  }
  EXPECT_THROW(photos_in(folder / "not-there"), FileError);
}

}  // namespace
}  // namespace chalkfold::job
