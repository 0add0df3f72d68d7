// SPDX-License-Identifier: Apache-2.0
// What the program says to a user who got the command line wrong: exit 2, one clear line, nothing written.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/common/run_program.h"

namespace chalkfold {

namespace {
using testing::HasSubstr;

void expect_usage_failure(std::vector<std::string> arguments, const std::string& message) {
  const test::TemporaryFolder folder;
  for (std::string& argument : arguments) {
    if (argument == "OUT") argument = (folder / "out").string();
    if (argument == "PHOTO") argument = (folder / "a.jpg").string();
  }
  arguments.insert(arguments.begin(), CHALKFOLD_PROGRAM);
  test::write_whole(folder / "a.jpg", "text");
  const test::ProgramRun run = test::run_program(arguments);
  EXPECT_EQ(run.exit, 2);
  EXPECT_THAT(run.err, HasSubstr(message));
  EXPECT_EQ(run.out, "");
  EXPECT_FALSE(std::filesystem::exists(folder / "out"));
}
}  // namespace

TEST(BadArguments, NoneShowsTheUsage) { expect_usage_failure({}, "Usage:"); }
TEST(BadArguments, NoPhoto) { expect_usage_failure({"run", "--out", "OUT"}, "PHOTO is required"); }
TEST(BadArguments, NoOutputFolder) { expect_usage_failure({"run", "PHOTO"}, "--out is required"); }
TEST(BadArguments, EmptyOutputFolder) { expect_usage_failure({"run", "PHOTO", "--out", ""}, "--out is empty"); }

TEST(BadArguments, UnknownCommandGetsTheNearest) {
  expect_usage_failure({"rnu", "PHOTO"}, "unknown command rnu; did you mean run?");
}

TEST(BadArguments, UnknownOptionGetsTheNearest) {
  expect_usage_failure({"run", "PHOTO", "--out", "OUT", "--thicknes-mm", "1"},
                       "unknown option --thicknes-mm; did you mean --thickness-mm?");
  expect_usage_failure({"run", "PHOTO", "--ouput", "OUT"}, "unknown option --ouput; did you mean --out?");
  expect_usage_failure({"run", "PHOTO", "--out", "OUT", "--tap=1,2,1000"}, "did you mean --tape?");
}

TEST(BadArguments, ANumberThatIsNone) {
  expect_usage_failure({"run", "PHOTO", "--out", "OUT", "--thickness-mm", "thin"}, "--thickness-mm");
  expect_usage_failure({"run", "PHOTO", "--out", "OUT", "--threads", "1.5"}, "--threads");
}

TEST(BadArguments, ANumberOutOfItsBounds) {
  expect_usage_failure({"run", "PHOTO", "--out", "OUT", "--thickness-mm", "80"},
                       "--thickness-mm 80: must be from 0 to 50 mm");
  expect_usage_failure({"run", "PHOTO", "--out", "OUT", "--thickness-mm=-1"},
                       "--thickness-mm -1: must be from 0 to 50 mm");
  expect_usage_failure({"run", "PHOTO", "--out", "OUT", "--thickness-mm", "nan"}, "--thickness-mm nan");
  expect_usage_failure({"run", "PHOTO", "--out", "OUT", "--long-bar-mm", "24.0"},
                       "--long-bar-mm 24: must be from 204 to 276 mm");
}

TEST(BadArguments, Tape) {
  expect_usage_failure({"run", "PHOTO", "--out", "OUT", "--tape", "1,3"}, "--tape 1,3: must be two sheet numbers");
  expect_usage_failure({"run", "--tape", "1,1,1000", "PHOTO", "--out", "OUT"}, "name two different sheets");
}

TEST(BadArguments, WordsThatArePieceOptionsAreChecked) {
  expect_usage_failure({"run", "a.jpg", "--out", "OUT", "--existing-allowance-mm", "wide"},
                       "must be a number of millimetres, or the word measured");
  expect_usage_failure({"run", "a.jpg", "--out", "OUT", "--edge-allowance-mm", "3"},
                       "must be an edge's number and millimetres, like 3,15");
  expect_usage_failure({"run", "a.jpg", "--out", "OUT", "--pdf-paper", "a9"},
                       "must be a4, letter, a3, or the width of a roll");
  expect_usage_failure({"run", "a.jpg", "--out", "OUT", "--fold", "up"}, "up not in {mean,left,right}");
  expect_usage_failure({"run", "a.jpg", "--out", "OUT", "--allowance-mm", "-4"},
                       "--allowance-mm -4: must be from 0 to 100 mm");
}

}  // namespace chalkfold
