// SPDX-License-Identifier: Apache-2.0
#include "tools/told_failure.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <functional>
#include <new>
#include <stdexcept>
#include <string>

#include "pipeline/common/error.h"
#include "tests/common/run_program.h"

namespace chalkfold::tools {
namespace {

using testing::HasSubstr;
using testing::Not;

struct Told {
  int exit = -1;
  std::string err;
};

Told told(const std::function<int()>& program) {
  testing::internal::CaptureStderr();
  const int exit = told_failure(program);
  return {exit, testing::internal::GetCapturedStderr()};
}

TEST(ToldFailure, GivesWhatTheProgramReturns) {
  const Told one = told([] { return 1; });
  EXPECT_EQ(one.exit, 1);
  EXPECT_EQ(one.err, "");
}

TEST(ToldFailure, AUserErrorHasItsOwnExitCodeAndAsksForNoReport) {
  const Told usage = told([]() -> int { throw UsageError("no such edge"); });
  EXPECT_EQ(usage.exit, 2);
  EXPECT_EQ(usage.err, "chalkfold: no such edge\n");
  EXPECT_EQ(told([]() -> int { throw FileError("cannot read it"); }).exit, 3);
  EXPECT_EQ(told([]() -> int { throw Interrupted("stopped"); }).exit, 130);
}

TEST(ToldFailure, AFileSystemThatFailsIsNoFaultOfTheProgram) {
  const Told full = told([]() -> int {
    throw std::filesystem::filesystem_error("cannot make it", "out", std::make_error_code(std::errc::io_error));
  });
  EXPECT_EQ(full.exit, 3);
  EXPECT_THAT(full.err, Not(HasSubstr("report")));
}

TEST(ToldFailure, AFaultOfTheProgramIsNotThatOfAFile) {
  const Told broken = told([]() -> int { throw std::logic_error("an outline of two points"); });
  EXPECT_EQ(broken.exit, 4);
  EXPECT_THAT(broken.err, HasSubstr("an outline of two points\nPlease report this"));
  EXPECT_EQ(told([]() -> int { throw std::runtime_error("no solution"); }).exit, 4);
  EXPECT_EQ(told([]() -> int { throw 5; }).exit, 4);
  const Told memory = told([]() -> int { throw std::bad_alloc(); });
  EXPECT_EQ(memory.exit, 4);
  EXPECT_THAT(memory.err, HasSubstr("memory ran out"));
}

/// The whole program, given an input without end and little memory to read it into.
TEST(ToldFailure, TheProgramThatRunsOutOfMemorySaysSo) {
  const test::TemporaryFolder folder;
#ifdef __SANITIZE_ADDRESS__
  // The sanitizer's own tables go beyond any limit of the system; it has one of its own.
  const std::string limit = "export ASAN_OPTIONS=allocator_may_return_null=1:max_allocation_size_mb=128; ";
#else
  const std::string limit = "ulimit -d 262144 && ";
#endif
  const test::ProgramRun run =
      test::run_program({"/bin/sh", "-c", limit + "exec \"$0\" run a.jpg --lens /dev/zero --out \"$1\"",
                         CHALKFOLD_PROGRAM, (folder / "out").string()});
  EXPECT_EQ(run.exit, 4);
  EXPECT_THAT(run.err, HasSubstr("memory ran out"));
  EXPECT_FALSE(std::filesystem::exists(folder / "out"));
}

}  // namespace
}  // namespace chalkfold::tools
