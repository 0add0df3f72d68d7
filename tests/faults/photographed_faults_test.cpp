// SPDX-License-Identifier: Apache-2.0
// Photographs that are not good enough, through the whole program: each is refused or marked with its own fault and a
// remedy, none gives a silent outline, and none stops the others.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "tests/common/rendered_photo.h"
#include "tests/output/schema_check.h"

namespace chalkfold {

namespace {
namespace fs = std::filesystem;
using Json = nlohmann::json;
using testing::Contains;
using testing::HasSubstr;
using testing::Not;

/// Every fault of a run, wherever it stands.
std::vector<Json> faults_of(const Json& results) {
  std::vector<Json> all(results["faults"].begin(), results["faults"].end());
  for (const char* list : {"photos", "panels"}) {
    for (const Json& item : results[list]) all.insert(all.end(), item["faults"].begin(), item["faults"].end());
  }
  return all;
}

std::vector<std::string> codes(const Json& results, const std::string& severity) {
  std::vector<std::string> out;
  for (const Json& fault : faults_of(results)) {
    if (fault["severity"] == severity) out.push_back(fault["code"]);
  }
  return out;
}

std::ptrdiff_t measured(const Json& results) {
  return std::count_if(results["panels"].begin(), results["panels"].end(),
                       [](const Json& panel) { return panel["measured"] == true; });
}

/// mm2, of a rendered photo's first panel: the shoelace formula over its true outline.
double true_area_of(const std::string& photo) {
  const Json truth = test::truth_of(photo);
  const Json& outline = truth["panels"][0]["outline"];
  double area = 0;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Json &a = outline[i], &b = outline[(i + 1) % outline.size()];
    area += 0.5 * (a[0].get<double>() * b[1].get<double>() - b[0].get<double>() * a[1].get<double>());
  }
  return area;
}

class PhotographedFault : public testing::Test {
 protected:
  Json run(const std::vector<fs::path>& photos, int exit) {
    const test::ProgramRun program = test::measure(photos, folder / "out");
    EXPECT_EQ(program.exit, exit) << program.err;
    Json results = Json::parse(test::read_whole(folder / "out/results.json"), nullptr, false);
    if (results.is_discarded()) throw std::runtime_error("no results.json: " + program.err);
    EXPECT_EQ(test::complaints("results.schema.json", results), "");
    for (const Json& fault : faults_of(results)) {
      EXPECT_NE(fault["seen"], "") << fault;
      EXPECT_TRUE(fault["severity"] == "note" || fault["remedy"] != "") << fault;
    }
    return results;
  }

  /// Exit 1, this refusal alone, and no file but the report and the results.
  Json expect_refused(const fs::path& photo, const std::string& code) {
    Json results = run({photo}, 1);
    EXPECT_THAT(codes(results, "refusal"), testing::ElementsAre(code));
    EXPECT_EQ(measured(results), 0);
    std::vector<std::string> names;
    for (const auto& [file, content] : test::files_below(folder / "out")) names.push_back(file);
    EXPECT_THAT(names, testing::ElementsAre("report.html", "results.json"));
    return results;
  }

  /// The flag's photo as a copy that broke off.
  fs::path flag_cut_to(double share) {
    const std::string whole = test::read_whole(test::rendered_photo("flag"));
    const fs::path file = folder / "flag.jpg";
    test::write_whole(file, whole.substr(0, static_cast<std::size_t>(share * static_cast<double>(whole.size()))));
    return file;
  }

  test::TemporaryFolder folder;
};
}  // namespace

TEST_F(PhotographedFault, WithoutSheets) { expect_refused(test::rendered_photo("no-sheets"), "no-sheet"); }

TEST_F(PhotographedFault, OneSheetIsMeasuredAndSaysSo) {
  const Json results = run({test::rendered_photo("one-sheet")}, 0);
  EXPECT_THAT(codes(results, "warning"), Contains("one-sheet"));
  ASSERT_EQ(measured(results), 1);
  const Json& panel = results["panels"][0];
  // A lens known by EXIF alone and one sheet beside the panel leave up to 1 mm rms (DESIGN section 9). That is a limit:
  // the least U that could be honest is the error with a lens profile, and it is more than beside four sheets.
  constexpr double least_honest_U = 0.3, rms_bar = 1.0;  // mm
  EXPECT_GE(panel["U_max"], least_honest_U);
  const Json flag = run({test::rendered_photo("flag")}, 0);
  ASSERT_EQ(measured(flag), 1);
  EXPECT_GT(panel["U_median"], flag["panels"][0]["U_median"]);
  // An outline off by the bar everywhere is off in area by the bar times its perimeter.
  const double true_area = true_area_of("one-sheet");
  EXPECT_NEAR(panel["area"].get<double>(), true_area, rms_bar * panel["perimeter"].get<double>());
}

TEST_F(PhotographedFault, SlightlyOutOfFocus) {
  expect_refused(test::rendered_photo("slightly-out-of-focus"), "blurred");
}

TEST_F(PhotographedFault, SoFarOutOfFocusThatNoMarkerCanBeRead) {
  const Json results = run({test::rendered_photo("out-of-focus")}, 1);
  EXPECT_EQ(measured(results), 0);
  const std::vector<Json> faults = faults_of(results);
  const bool focus = std::any_of(faults.begin(), faults.end(), [](const Json& fault) {
    return fault["severity"] == "refusal" && fault["remedy"].get<std::string>().find("focus") != std::string::npos;
  });
  EXPECT_TRUE(focus) << "some remedy names the focus: " << results["photos"];
}

TEST_F(PhotographedFault, PanelCutByTheFrame) {
  expect_refused(test::rendered_photo("cut-by-frame"), "panel-cut-by-frame");
}

TEST_F(PhotographedFault, PanelOverASheetIsMeasuredAndSaysSo) {
  const Json results = run({test::rendered_photo("panel-over-sheet")}, 0);
  EXPECT_THAT(codes(results, "warning"), Contains("panel-over-sheet"));
  ASSERT_EQ(measured(results), 1);
  const Json& panel = results["panels"][0];
  constexpr double bar =
      0.15;  // mm: a row of the sheet's squares taken in would be 36 mm over a tenth of the perimeter, 3.6
  EXPECT_NEAR(panel["area"].get<double>(), true_area_of("panel-over-sheet"), bar * panel["perimeter"].get<double>());
}

TEST_F(PhotographedFault, ACopyWithThirtyPercentIsRefused) { expect_refused(flag_cut_to(0.3), "photo-truncated"); }

TEST_F(PhotographedFault, ACopyWithEightyPercentIsMeasuredAndSaysSo) {
  // The panel and two sheets lie wholly in what was read.
  const Json results = run({flag_cut_to(0.8)}, 0);
  EXPECT_THAT(codes(results, "warning"), Contains("photo-truncated"));
  EXPECT_LT(results["photos"][0]["intact"], 0.9);
  ASSERT_EQ(measured(results), 1);
  const double area = results["panels"][0]["area"];
  const Json whole = run({test::rendered_photo("flag")}, 0);
  // mm: the panel's own edges are the same pixels; fewer sheets turn the camera a little
  constexpr double same_edges = 0.1;
  EXPECT_NEAR(area, whole["panels"][0]["area"].get<double>(),
              same_edges * whole["panels"][0]["perimeter"].get<double>());
}

TEST_F(PhotographedFault, APanelThatRunsIntoTheMissingPartIsRefused) {
  const Json results = run({flag_cut_to(0.58)}, 1);
  EXPECT_THAT(codes(results, "warning"), Contains("photo-truncated"));
  EXPECT_THAT(codes(results, "refusal"), Contains("panel-cut-by-frame"));
  EXPECT_EQ(measured(results), 0);
}

TEST_F(PhotographedFault, OneBadPhotoAmongTenStopsNoOther) {
  std::vector<fs::path> photos;
  for (int k = 1; k <= 9; ++k) {
    photos.push_back(folder / ("panel " + std::to_string(k) + ".jpg"));
    // A JPEG comment of its own makes each another file: copies would be measured once.
    std::string jpeg = test::read_whole(test::rendered_photo(k % 2 == 0 ? "one-sheet" : "flag"));
    test::write_whole(photos.back(), jpeg.insert(2, {'\xff', '\xfe', '\0', '\3', static_cast<char>('0' + k)}));
  }
  photos.insert(photos.begin() + 4, test::rendered_photo("no-sheets"));
  const Json results = run(photos, 1);
  EXPECT_EQ(measured(results), 9);
  EXPECT_THAT(codes(results, "refusal"), testing::ElementsAre("no-sheet"));
  for (int k = 1; k <= 9; ++k) {
    const std::string name = "panel " + std::to_string(k);
    for (const char* ending : {".dxf", ".svg", ".json"})
      EXPECT_TRUE(fs::exists(folder / ("out/measured/" + name + ending))) << name << ending;
    EXPECT_EQ(test::complaints("panel.schema.json",
                               Json::parse(test::read_whole(folder / ("out/measured/" + name + ".json")))),
              "");
  }
}

}  // namespace chalkfold
