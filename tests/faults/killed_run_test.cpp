// SPDX-License-Identifier: Apache-2.0
// Runs that are killed or stopped half way, and what the next run makes of what they left.
#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <random>
#include <thread>

#include "tests/common/rendered_photo.h"

namespace chalkfold {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

class KilledRun : public testing::Test {
 protected:
  /// Photos of the flag and of the worn cushion; each file differs by a byte after the picture's end, so that none is known from another.
  void make_photos(int count) {
    for (int i = 0; i < count; ++i) {
      const fs::path photo = folder / ("photo-" + std::to_string(i) + ".jpg");
      test::write_whole(
          photo, test::read_whole(test::rendered_photo(i % 3 == 2 ? "worn" : "flag")) + static_cast<char>('a' + i));
      photos.push_back(photo);
    }
  }

  std::vector<std::string> words(const fs::path& out) const {
    std::vector<std::string> all = {CHALKFOLD_PROGRAM, "run"};
    for (const fs::path& photo : photos) all.push_back(photo.string());
    for (const char* word : {"--thickness-mm", "1.2", "--threads", "2", "--out"}) all.emplace_back(word);
    all.push_back(out.string());
    return all;
  }

  /// Starts a run and does not wait for it.
  pid_t start(const fs::path& out) const {
    const std::vector<std::string> all = words(out);
    std::vector<char*> arguments;
    for (const std::string& word : all) arguments.push_back(const_cast<char*>(word.c_str()));
    arguments.push_back(nullptr);
    const std::string err = (folder / "err").string();
    const pid_t child = ::fork();
    if (child == 0) {
      const int nowhere = ::open("/dev/null", O_WRONLY),
                errors = ::open(err.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0644);
      ::dup2(nowhere, STDOUT_FILENO);
      ::dup2(errors, STDERR_FILENO);
      ::execv(arguments[0], arguments.data());
      ::_exit(127);
    }
    return child;
  }

  static int wait_for(pid_t child) {
    int status = 0;
    while (::waitpid(child, &status, 0) < 0) {
    }
    return status;
  }

  std::vector<std::pair<std::string, std::string>> run_whole(const fs::path& out) const {
    ::setenv("SOURCE_DATE_EPOCH", "1000000000", 1);
    const test::ProgramRun run = test::run_program(words(out));
    EXPECT_EQ(run.exit, 0) << run.err;
    return test::files_below(out);
  }

  /// Names of all files, what is kept for the next run among them.
  static std::vector<std::string> all_names(const fs::path& out) {
    std::vector<std::string> names;
    for (const auto& entry : fs::recursive_directory_iterator(out)) names.push_back(entry.path().filename().string());
    return names;
  }

  test::TemporaryFolder folder;
  std::vector<fs::path> photos;
};

TEST_F(KilledRun, TwentyTimesAtRandomMomentsTheLastRunIsAsIfNothingHadBeen) {
  make_photos(5);
  const auto undisturbed = run_whole(folder / "undisturbed");
  std::mt19937 random(20261125);
  std::uniform_int_distribution<int> moment_ms(1, 900);
  int killed = 0;
  for (int i = 0; i < 20; ++i) {
    if (i % 5 == 0) fs::remove_all(folder / "out");  // so that every stage is met again
    const pid_t child = start(folder / "out");
    std::this_thread::sleep_for(std::chrono::milliseconds(moment_ms(random)));
    ::kill(child, SIGKILL);
    killed += WIFSIGNALED(wait_for(child));
  }
  EXPECT_GE(killed, 10) << "most runs were over before they were killed: the test shows little";
  const auto after = run_whole(folder / "out");
  ASSERT_EQ(after.size(), undisturbed.size());
  for (std::size_t i = 0; i < after.size(); ++i) {
    EXPECT_EQ(after[i].first, undisturbed[i].first);
    EXPECT_TRUE(after[i].second == undisturbed[i].second) << after[i].first << " differs";
  }
  for (const std::string& name : all_names(folder / "out")) EXPECT_FALSE(name.starts_with(".chalkfold-")) << name;
}

/// 128 and the signal's number, as shells count (POSIX.1, "Exit Status for Commands").
class StoppedRun : public KilledRun, public testing::WithParamInterface<int> {};

TEST_P(StoppedRun, FinishesWhatIsInWorkAndTheNextRunGoesOn) {
  make_photos(6);
  const pid_t child = start(folder / "out");
  // The first panel's files are there while others are still to come.
  const auto begun = std::chrono::steady_clock::now();
  const auto measured = [&] {
    std::error_code none;
    return fs::exists(folder / "out/measured", none) && !fs::is_empty(folder / "out/measured", none);
  };
  while (!measured() && std::chrono::steady_clock::now() - begun < std::chrono::seconds(60))
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  ::kill(child, GetParam());
  const int status = wait_for(child);
  ASSERT_TRUE(WIFEXITED(status));
  EXPECT_EQ(WEXITSTATUS(status), 128 + GetParam());
  const std::string err = test::read_whole(folder / "err");
  EXPECT_THAT(err, HasSubstr("of 6 photos are measured"));
  EXPECT_THAT(err, HasSubstr("goes on from here"));
  const auto kept = fs::directory_iterator(folder / "out/measured");
  EXPECT_NE(kept, fs::directory_iterator()) << "the finished panels' files stay";
  const auto after = run_whole(folder / "out"), undisturbed = run_whole(folder / "undisturbed");
  EXPECT_TRUE(after == undisturbed);
}

INSTANTIATE_TEST_SUITE_P(Signals, StoppedRun, testing::Values(SIGINT, SIGTERM));

TEST_F(KilledRun, TheSecondRunIntoOneFolderSaysSoAndTheFirstGoesOn) {
  make_photos(3);
  const pid_t first = start(folder / "out");
  const auto begun = std::chrono::steady_clock::now();
  while (!fs::exists(folder / "out/measured") && std::chrono::steady_clock::now() - begun < std::chrono::seconds(60))
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  const test::ProgramRun second = test::run_program(words(folder / "out"));
  EXPECT_EQ(second.exit, 3);
  EXPECT_THAT(second.err, HasSubstr("Another run is writing into"));
  EXPECT_THAT(second.err, HasSubstr("process " + std::to_string(first)));
  const int status = wait_for(first);
  EXPECT_TRUE(WIFEXITED(status) && WEXITSTATUS(status) == 0);
}

}  // namespace
}  // namespace chalkfold
