// SPDX-License-Identifier: Apache-2.0
// Same photos, same bytes: run after run, and whatever the number of threads.
#include <gtest/gtest.h>

#include <algorithm>

#include "tests/common/rendered_photo.h"

namespace chalkfold::tools {

namespace {
using Files = std::vector<std::pair<std::string, std::string>>;

Files run(const std::string& threads) {
  const test::TemporaryFolder folder;
  const test::ProgramRun program = test::measure(
      {test::rendered_photo("flag"), test::rendered_photo("one-sheet"), test::rendered_photo("no-sheets")},
      folder / "out", {"--threads", threads});
  EXPECT_EQ(program.exit, 1) << program.err;
  return test::files_below(folder / "out");
}

void expect_same(const Files& a, const Files& b) {
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    EXPECT_EQ(a[i].first, b[i].first);
    EXPECT_TRUE(a[i].second == b[i].second) << a[i].first << " differs";
  }
}
}  // namespace

TEST(SameBytes, RunAfterRunAndForAnyNumberOfThreads) {
  const Files once = run("1");
  const auto others = std::count_if(once.begin(), once.end(), [](const auto& file) {
    return file.first.find("marks/") != std::string::npos || file.first.find("change.svg") != std::string::npos;
  });
  ASSERT_EQ(once.size() - static_cast<std::size_t>(others), 4 + 2 * (4 + 5u))
      << "report, results, the set, four files of each of two panels and five of its piece";
  expect_same(once, run("1"));
  expect_same(once, run("2"));
}

}  // namespace chalkfold::tools
