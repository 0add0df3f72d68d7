// SPDX-License-Identifier: Apache-2.0
// `chalkfold compare` through the program: a pad of known change from two rendered photographs of half a phone's resolution, and what a
// user can get wrong.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "demo/scenes/scenes.h"
#include "tests/common/rendered_photo.h"

namespace chalkfold::tools {
namespace {

using Json = nlohmann::json;
using test::ProgramRun;
using testing::HasSubstr;

ProgramRun compare(std::vector<std::string> words) {
  ::setenv("SOURCE_DATE_EPOCH", "1000000000", 1);
  words.insert(words.begin(), {CHALKFOLD_PROGRAM, "compare"});
  return test::run_program(words);
}

class ComparePhotographs : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    folder = new test::TemporaryFolder;
    for (const char* name : {"pad-before", "pad-after"})
      ASSERT_EQ(test::measure({test::rendered_photo(name)}, *folder / name).exit, 0) << name;
  }
  static void TearDownTestSuite() {
    delete folder;
    folder = nullptr;
  }
  static std::string measured(const std::string& name, const std::string& ending = ".json") {
    return (*folder / (name + "/measured/" + name + ending)).string();
  }

  static test::TemporaryFolder* folder;
};
test::TemporaryFolder* ComparePhotographs::folder = nullptr;

TEST_F(ComparePhotographs, TheChangeIsRecoveredWithinU) {
  const demo::PadChange truth;
  const ProgramRun run = compare({measured("pad-before"), measured("pad-after"), "--json"});
  ASSERT_EQ(run.exit, 0) << run.err;
  const Json json = Json::parse(run.out);
  const auto check = [&](const char* what, double found, double U, double true_value, double most_U) {
    std::printf("%s: %.3f, true %.3f, U %.3f\n", what, found, true_value, U);
    EXPECT_LE(std::abs(found - true_value), U) << what;
    EXPECT_LT(U, most_U) << what;  // an uncertainty that would cover anything proves nothing
  };
  check("along, percent", json["along"]["percent"], json["along"]["U"], truth.along_percent, 0.5);
  check("across, percent", json["across"]["percent"], json["across"]["U"], truth.across_percent, 0.5);
  check("shear, deg", json["shear"]["deg"], json["shear"]["U_deg"], truth.shear_deg, 0.5);
  EXPECT_EQ(json["direction"]["from"], "grain of the measured panel");
}

TEST_F(ComparePhotographs, EveryFileOfTheReferenceGivesTheSame) {
  const Json by_json = Json::parse(compare({measured("pad-before"), measured("pad-after"), "--json"}).out);
  for (const char* ending : {".dxf", ".svg"}) {
    const ProgramRun run = compare({measured("pad-before", ending), measured("pad-after"), "--json"});
    ASSERT_EQ(run.exit, 0) << run.err;
    const Json json = Json::parse(run.out);
    constexpr double same = 0.01;  // percent: the same points but for their fourth decimal
    EXPECT_NEAR(json["along"]["percent"].get<double>(), by_json["along"]["percent"].get<double>(), same) << ending;
    EXPECT_NEAR(json["across"]["percent"].get<double>(), by_json["across"]["percent"].get<double>(), same) << ending;
  }
}

TEST_F(ComparePhotographs, WritesItsFilesTheSameEveryTime) {
  const test::TemporaryFolder one, other;
  for (const test::TemporaryFolder* out : {&one, &other})
    ASSERT_EQ(compare({measured("pad-before"), measured("pad-after"), "--out", out->path().string()}).exit, 0);
  const auto files = test::files_below(one.path());
  ASSERT_EQ(files.size(), 3u);
  EXPECT_EQ(files[0].first, "compare.html");
  EXPECT_EQ(files, test::files_below(other.path()));
}

TEST_F(ComparePhotographs, APieceCanBeTheReference) {
  const ProgramRun run =
      compare({(*folder / "pad-before/pieces/pad-before.json").string(), measured("pad-before"), "--json"});
  ASSERT_EQ(run.exit, 0) << run.err;
  const Json json = Json::parse(run.out);
  EXPECT_EQ(json["reference"]["kind"], "cut line of a piece");
  EXPECT_NEAR(json["along"]["percent"].get<double>(), 0,
              0.1);  // percent: the piece's curves stay within 0.3 mm of the points
}

TEST_F(ComparePhotographs, ASizeGivenInNumbers) {
  for (const std::vector<std::string>& words :
       {std::vector<std::string>{"600x450", measured("pad-after")},
        std::vector<std::string>{measured("pad-after"), "--length-mm", "600", "--width-mm", "450"}}) {
    const ProgramRun run = compare(words);
    EXPECT_EQ(run.exit, 0) << run.err;
    EXPECT_THAT(run.out, HasSubstr("against 600 x 450 mm (given size)"));
  }
}

TEST_F(ComparePhotographs, ADistanceKnownFromBefore) {
  const ProgramRun run = compare({"600x450", measured("pad-after"), "--between", "0,0,339.5,0,350", "--json"});
  ASSERT_EQ(run.exit, 0) << run.err;
  EXPECT_NEAR(Json::parse(run.out)["distances"].back()["percent"].get<double>(), -3.0, 1e-9);
}

TEST(Compare, SaysWhatToDoAboutWrongArguments) {
  const auto fails = [](const std::vector<std::string>& words, int exit, const std::string& text) {
    const ProgramRun run = compare(words);
    EXPECT_EQ(run.exit, exit) << run.out << run.err;
    EXPECT_THAT(run.err, HasSubstr(text));
    EXPECT_EQ(run.out, "");
  };
  const test::TemporaryFolder folder;
  const std::string bad = (folder / "bad.dxf").string();
  test::write_whole(bad, "0\nSECTION\n");
  fails({"no-such.json", "neither.json"}, 3, "neither.json");
  fails({"600x450", bad}, 3, "cut short");
  fails({bad}, 2, "--length-mm");
  fails({"600x450", bad, "--length-mm", "3"}, 2, "both --length-mm and --width-mm");
  fails({"600x1", bad}, 2, "10 to 10000");
  fails({"600x450", bad, "--between", "1,2,3"}, 2, "X1,Y1,X2,Y2,MM");
  fails({"600x450", bad, "--grain-deg", "900"}, 2, "-360 to 360");
  fails({}, 2, "required");
}

}  // namespace
}  // namespace chalkfold::tools
