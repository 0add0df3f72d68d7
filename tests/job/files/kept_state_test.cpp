// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/files/kept_state.h"

#include <gtest/gtest.h>

#include "pipeline/job/files/run_lock.h"
#include "tests/common/run_program.h"

namespace chalkfold::job {
namespace {

class Kept : public testing::Test {
 protected:
  Kept() { std::filesystem::create_directories(state_folder(folder.path())); }

  KeptState state(const std::string& maker = "maker", bool fresh = false) const {
    return KeptState(folder.path(), maker, fresh);
  }

  std::filesystem::path only_file() const {
    std::filesystem::path found;
    for (const auto& entry : std::filesystem::directory_iterator(state_folder(folder.path()))) found = entry.path();
    return found;
  }

  test::TemporaryFolder folder;
};

TEST_F(Kept, GivesBackWhatWasKeptUnderTheSameKey) {
  KeptState first = state();
  const std::string bytes("a\0b", 3);
  first.keep(first.key("trace", {"x"}), bytes);
  KeptState second = state();
  EXPECT_EQ(second.find(second.key("trace", {"x"})), bytes);
  EXPECT_EQ(second.find(second.key("trace", {"y"})), std::nullopt);
}

TEST_F(Kept, NoTwoListsOfPartsShareAKey) {
  const KeptState s = state();
  EXPECT_NE(s.key("trace", {"ab", "c"}), s.key("trace", {"a", "bc"}));
  EXPECT_NE(s.key("trace", {"a"}), s.key("reading", {"a"}));
  EXPECT_NE(s.key("trace", {"a"}), state("another build").key("trace", {"a"}));
}

TEST_F(Kept, AFreshRunFindsNothingButKeeps) {
  KeptState old = state();
  old.keep(old.key("trace", {"x"}), "old");
  KeptState fresh = state("maker", true);
  EXPECT_EQ(fresh.find(fresh.key("trace", {"x"})), std::nullopt);
  fresh.keep(fresh.key("trace", {"x"}), "new");
  EXPECT_EQ(old.find(old.key("trace", {"x"})), "new");
}

TEST_F(Kept, WithoutAMakerNothingIsKept) {
  KeptState none = state("");
  none.keep(none.key("trace", {"x"}), "bytes");
  EXPECT_TRUE(only_file().empty());
  EXPECT_EQ(none.find(none.key("trace", {"x"})), std::nullopt);
}

TEST_F(Kept, ADamagedFileIsAsIfThereWereNone) {
  KeptState s = state();
  s.keep(s.key("trace", {"x"}), "twelve bytes");
  const std::string whole = test::read_whole(only_file());
  for (const std::string& spoilt : {whole.substr(0, whole.size() - 1), whole + "x", std::string(), whole.substr(0, 40),
                                    whole.substr(0, whole.size() - 1) + "X"}) {
    test::write_whole(only_file(), spoilt);
    EXPECT_EQ(s.find(s.key("trace", {"x"})), std::nullopt) << spoilt.size();
  }
}

TEST_F(Kept, WhatARunDidNotUseIsForgotten) {
  KeptState old = state();
  old.keep(old.key("trace", {"used"}), "1");
  old.keep(old.key("trace", {"unused"}), "2");
  KeptState next = state();
  next.find(next.key("trace", {"used"}));
  next.forget_others();
  EXPECT_EQ(next.find(next.key("trace", {"used"})), "1");
  EXPECT_EQ(next.find(next.key("trace", {"unused"})), std::nullopt);
}

TEST(OwnChecksum, IsTheBuildIdThatLiesInTheProgram) {
  const std::string id = own_checksum();
  ASSERT_EQ(id.size(), 40U);  // SHA-1; without a build id it were the 64 digits of a SHA-256
  std::string bytes;
  for (std::size_t i = 0; i < id.size(); i += 2) bytes += static_cast<char>(std::stoi(id.substr(i, 2), nullptr, 16));
  EXPECT_NE(test::read_whole("/proc/self/exe").find(bytes), std::string::npos);
}

}  // namespace
}  // namespace chalkfold::job
