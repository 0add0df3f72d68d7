// SPDX-License-Identifier: Apache-2.0
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/common/run_program.h"

namespace chalkfold::tools {

using test::ProgramRun;
using test::run_program;
using testing::HasSubstr;

TEST(Program, SaysItsVersion) {
  const ProgramRun run = run_program({CHALKFOLD_PROGRAM, "--version"});
  EXPECT_EQ(run.exit, 0);
  EXPECT_EQ(run.out, std::string("chalkfold ") + CHALKFOLD_CMAKE_VERSION + "\n");
}

TEST(Program, HelpGoesToStandardOutput) {
  const ProgramRun run = run_program({CHALKFOLD_PROGRAM, "run", "--help"});
  EXPECT_EQ(run.exit, 0);
  for (const char* option : {"--out", "--thickness-mm", "--long-bar-mm", "--tape", "--threads", "--json"})
    EXPECT_THAT(run.out, HasSubstr(option));
}

}  // namespace chalkfold::tools
