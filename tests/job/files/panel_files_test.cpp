// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/files/panel_files.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/common/error.h"
#include "tests/common/run_program.h"
#include "tests/common/small_disk.h"
#include "tests/job/fake_stages.h"
#include "tests/output/flag_panel.h"

namespace chalkfold::job {

namespace {
capture::Photo grey_photo() {
  capture::Photo photo;
  photo.bgr = cv::Mat(900, 1200, CV_8UC3, cv::Scalar::all(128));
  return photo;
}

output::PanelRecord flag_record() {
  output::PanelRecord record;
  record.panel = test::flag_panel();
  return record;
}
}  // namespace

TEST(PanelFiles, AreFourAndAreEntered) {
  const test::TemporaryFolder out;
  make_output_folders(out.path());
  output::PanelRecord record = flag_record();
  write_panel(out.path(), record, grey_photo(), test::view_from_above("flag.jpg"), 1.1);
  EXPECT_THAT(record.files, testing::ElementsAre("measured/flag.dxf", "measured/flag.svg", "measured/flag.json"));
  EXPECT_EQ(record.picture, "pictures/flag.jpg");
  EXPECT_EQ(test::files_below(out.path()).size(), 4u);
}

TEST(PanelFiles, AllOrNone) {
  const test::TemporaryFolder out;
  make_output_folders(out.path());
  std::filesystem::create_directory(out / "pictures/flag.jpg");  // the last file cannot be written
  output::PanelRecord record = flag_record();
  EXPECT_THROW(write_panel(out.path(), record, grey_photo(), test::view_from_above("flag.jpg"), 1.1), FileError);
  EXPECT_TRUE(test::files_below(out.path()).empty());
  EXPECT_TRUE(record.files.empty());
}

TEST(PanelFiles, AFullDiskLeavesNone) {
  const test::SmallDisk disk(64);  // room for the drawings, not for the picture
  if (!disk.mounted()) GTEST_SKIP() << disk.why();
  make_output_folders(disk.path());
  output::PanelRecord record = flag_record();
  capture::Photo photo = grey_photo();
  cv::randu(photo.bgr, cv::Scalar::all(0), cv::Scalar::all(255));
  EXPECT_THROW(write_panel(disk.path(), record, photo, test::view_from_above("flag.jpg"), 1.1), FileError);
  EXPECT_TRUE(test::files_below(disk.path()).empty());
}

TEST(OlderFiles, AreOursThatWereNotWrittenNow) {
  const test::TemporaryFolder out;
  make_output_folders(out.path());
  for (const char* name : {"a.dxf", "a.svg", "b.json", "notes.txt"})
    test::write_whole(out.path() / "measured" / name, "x");
  EXPECT_THAT(older_files(out.path(), {"measured/a.dxf"}), testing::ElementsAre("measured/a.svg", "measured/b.json"));
}

}  // namespace chalkfold::job
