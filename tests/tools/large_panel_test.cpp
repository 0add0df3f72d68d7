// SPDX-License-Identifier: Apache-2.0
// Panels larger than one photo through the whole program: a bench's cover in two photos, a mat in four.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <nlohmann/json.hpp>

#include "pipeline/geometry/polygon.h"
#include "tests/common/rendered_photo.h"
#include "tests/output/schema_check.h"
#include "tests/tools/outline_check.h"

namespace chalkfold::tools {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;
using test::mirrored;
using test::points_of;
using test::rms_off;
using testing::HasSubstr;

// What a panel of 1.5 m from several photos is held to, at 12 Mpx; these photos have a fourth of the pixels.
constexpr double outline_rms = 0.35, length_off = 0.6;  // mm
// mm: the mat's sides differ by 15 to 50 mm, its mirror image comes no nearer than several mm
constexpr double mirrored_rms = 1.5;

double extent(const Polyline& points) {
  return std::max(geometry::bounding_box(points).size().x(), geometry::bounding_box(points).size().y());
}

/// Each true match mark and notch has its like among those measured.
void expect_all_marks(const Json& measured, const Json& truth, const geometry::Rigid2& truth_from_measured) {
  constexpr double place = 2;  // mm: chalk is drawn by hand, at half the resolution
  const auto feet_of = [](const Json& marks, const char* kind) {
    Polyline feet;
    for (const Json& m : marks.value(kind, Json::array())) feet.emplace_back(m["foot"][0], m["foot"][1]);
    return feet;
  };
  Polyline found = feet_of(measured["marks"], "matches");
  for (const Vec2& n : feet_of(measured["marks"], "notches")) found.push_back(n);
  for (Vec2& p : found) p = truth_from_measured * p;
  for (const Json& mark : truth["marks"]) {
    if (mark["kind"] != "match" && mark["kind"] != "notch") continue;
    const Vec2 at(mark["points"][0][0], mark["points"][0][1]);
    const bool there = std::any_of(found.begin(), found.end(), [&](const Vec2& p) { return (p - at).norm() < place; });
    EXPECT_TRUE(there) << mark["kind"] << " at " << at.transpose();
  }
}

class LargePanel : public testing::Test {
 protected:
  Json results() const { return Json::parse(test::read_whole(folder / "results.json")); }
  Json measured(const std::string& name) const {
    return Json::parse(test::read_whole(folder / ("measured/" + name + ".json")));
  }
  /// Told faults with this code, their texts.
  std::vector<std::string> told(const std::string& code) const {
    std::vector<std::string> found;
    const Json all = results();
    for (const Json& photo : all["photos"])
      for (const Json& f : photo["faults"])
        if (f["code"] == code) found.push_back(f["seen"].get<std::string>() + " " + f["remedy"].get<std::string>());
    return found;
  }
  void expect_true(const std::string& name, const Json& truth) const {
    const Polyline outline = points_of(measured(name)["outline"]["points"]), real = points_of(truth["outline"]);
    geometry::Rigid2 motion;
    const double rms = rms_off(outline, real, &motion);
    Polyline laid;
    for (const Vec2& p : outline) laid.push_back(motion * p);
    std::printf("%s: rms %.3f mm, length off by %+.2f mm\n", name.c_str(), rms, extent(laid) - extent(real));
    EXPECT_LT(rms, outline_rms);
    EXPECT_NEAR(extent(laid), extent(real), length_off);
    expect_all_marks(measured(name), truth, motion);
  }

  test::TemporaryFolder folder;
};

TEST_F(LargePanel, ABenchCoverOfTwoPhotosNamedInAJob) {
  const Json job = {{"panels",
                     {{{"name", "bench cover"},
                       {"photos", {test::rendered_photo("bench-left"), test::rendered_photo("bench-right")}}}}}};
  test::write_whole(folder / "job.json", job.dump());
  const test::ProgramRun program = test::measure({folder / "job.json"}, folder.path());
  ASSERT_EQ(program.exit, 0) << program.err << program.out;
  const Json all = results();
  EXPECT_EQ(test::complaints("results.schema.json", all), "");
  EXPECT_EQ(test::complaints("panel.schema.json", measured("bench cover")), "");
  ASSERT_EQ(all["panels"].size(), 1u);
  EXPECT_EQ(all["panels"][0]["photos"], (Json{"bench-left.jpg", "bench-right.jpg"}));
  expect_true("bench cover", test::truth_of("bench-left")["panels"][0]);
}

TEST_F(LargePanel, PartsOfOneSetupJoinByThemselves) {
  const test::ProgramRun program =
      test::measure({test::rendered_photo("bench-left"), test::rendered_photo("bench-right")}, folder.path());
  ASSERT_EQ(program.exit, 0) << program.err << program.out;
  ASSERT_EQ(results()["panels"].size(), 1u);
  expect_true(results()["panels"][0]["name"], test::truth_of("bench-left")["panels"][0]);
}

TEST_F(LargePanel, OnePhotoAloneIsRefusedWithWhatToDo) {
  const test::ProgramRun program = test::measure({test::rendered_photo("bench-left")}, folder.path());
  EXPECT_EQ(program.exit, 1);
  EXPECT_TRUE(results()["panels"].empty());
  ASSERT_EQ(told("panel-cut-by-frame").size(), 1u);
  EXPECT_THAT(told("panel-cut-by-frame")[0],
              HasSubstr("take more photos that show the rest, with the sheets left where they are"));
}

TEST_F(LargePanel, AMatOfFourPhotosIsNotMirrored) {
  std::vector<fs::path> photos;
  for (const char* name : {"mat-1", "mat-2", "mat-3", "mat-4"}) photos.push_back(test::rendered_photo(name));
  const test::ProgramRun program = test::measure(photos, folder.path());
  ASSERT_EQ(program.exit, 0) << program.err << program.out;
  ASSERT_EQ(results()["panels"].size(), 1u);
  const std::string name = results()["panels"][0]["name"];
  const Json truth = test::truth_of("mat-1")["panels"][0];
  expect_true(name, truth);
  const Json panel = measured(name);
  EXPECT_GT(rms_off(points_of(panel["outline"]["points"]), mirrored(points_of(truth["outline"]))), mirrored_rms);
  EXPECT_EQ(panel["cutouts"].size(), 1u);
}

TEST_F(LargePanel, AMatWithAPhotoMissingIsToldItsGap) {
  const test::ProgramRun program = test::measure(
      {test::rendered_photo("mat-1"), test::rendered_photo("mat-2"), test::rendered_photo("mat-3")}, folder.path());
  EXPECT_EQ(program.exit, 1);
  EXPECT_TRUE(results()["panels"].empty());
  ASSERT_FALSE(told("panel-cut-by-frame").empty());
  EXPECT_THAT(told("panel-cut-by-frame")[0], HasSubstr("mm of its outline unseen"));
}

}  // namespace
}  // namespace chalkfold::tools
