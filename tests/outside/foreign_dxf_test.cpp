// SPDX-License-Identifier: Apache-2.0
// DXF files by another writer (Debian's python3-ezdxf, write_foreign_dxf.py) as references of `chalkfold compare`: one outline in several
// releases, units and ways, and its mirror image.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "tests/common/run_program.h"

namespace chalkfold {
namespace {

class ForeignDxf : public testing::Test {
 protected:
  void SetUp() override {
    const test::ProgramRun run =
        test::run_program({CHALKFOLD_PYTHON, std::string(CHALKFOLD_SOURCE_DIR) + "/tests/outside/write_foreign_dxf.py",
                           folder.path().string()});
    ASSERT_EQ(run.exit, 0) << run.err;
  }
  test::ProgramRun compare(const std::string& reference, const std::string& measured,
                           const std::vector<std::string>& more = {}) const {
    std::vector<std::string> words = {CHALKFOLD_PROGRAM, "compare", (folder / (reference + ".dxf")).string(),
                                      (folder / (measured + ".dxf")).string(), "--json"};
    words.insert(words.end(), more.begin(), more.end());
    return test::run_program(words);
  }
  test::TemporaryFolder folder;
};

TEST_F(ForeignDxf, OneOutlineHoweverItIsWritten) {
  for (const char* name : {"block", "old", "parts"}) {
    const test::ProgramRun run = compare("plain", name);
    ASSERT_EQ(run.exit, 0) << name << run.err;
    const auto json = nlohmann::json::parse(run.out);
    constexpr double exact_percent = 1e-3, flattened = 0.02;  // mm: two flattenings of the half circle
    EXPECT_NEAR(json["along"]["percent"].get<double>(), 0, exact_percent) << name;
    EXPECT_NEAR(json["across"]["percent"].get<double>(), 0, exact_percent) << name;
    EXPECT_LT(json["left_rms"].get<double>(), flattened) << name;
    EXPECT_NEAR(json["extent_along"]["before"].get<double>(), 600, 0.02) << name;
  }
}

TEST_F(ForeignDxf, TheOtherSideIsRefusedUntilToldOf) {
  const test::ProgramRun refused = compare("plain", "mirrored"), told = compare("plain", "mirrored", {"--other-side"});
  EXPECT_EQ(refused.exit, 1);
  EXPECT_THAT(refused.out, testing::HasSubstr("mirrored-fits-better"));
  EXPECT_EQ(told.exit, 0) << told.err;
}

}  // namespace
}  // namespace chalkfold
