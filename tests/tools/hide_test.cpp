// SPDX-License-Identifier: Apache-2.0
// A hide in two photos through the whole program, by a job file: outline, hole, ringed flaws and usable area against the renderer's truth, and its
// DXF read by ezdxf and measured by GEOS.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <nlohmann/json.hpp>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/regions.h"
#include "tests/common/rendered_photo.h"
#include "tests/output/schema_check.h"
#include "tests/tools/outline_check.h"

namespace chalkfold::tools {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;
using test::points_of;
using test::rms_off;
using testing::HasSubstr;

// What a hide in two photos is held to at 12 Mpx; these photos have a fourth of the pixels.
constexpr double outline_rms = 0.35, ring_place = 1.5;  // mm
constexpr double ring_area = 0.05, usable_share = 0.005;
constexpr double mirrored_rms = 5;  // mm: the hide is nowhere near its own mirror image

/// What the true rings take, to the outer edge of the chalk, a break closed straight.
std::vector<Polyline> true_flaws(const Json& panel) {
  std::vector<Polyline> flaws;
  for (const Json& mark : panel["marks"]) {
    if (mark["kind"] != "ring") continue;
    const Polyline line = points_of(mark["points"]);
    const double width = mark["width_mm"];
    flaws.push_back(geometry::covered_by({{line, width}, {{line.back(), line.front()}, width}}).front().outer);
  }
  return flaws;
}

class Hide : public testing::Test {
 protected:
  test::ProgramRun run(const Json& more = Json::object()) {
    Json panel = {{"name", "brown hide"},
                  {"kind", "hide"},
                  {"side", "face"},
                  {"photos", {test::rendered_photo("hide-left"), test::rendered_photo("hide-right")}}};
    panel.update(more);
    test::write_whole(folder / "job.json", Json{{"panels", {panel}}}.dump());
    return test::measure({folder / "job.json"}, folder.path());
  }
  Json results() const { return Json::parse(test::read_whole(folder / "results.json")); }
  Json measured() const { return Json::parse(test::read_whole(folder / "measured/brown hide.json")); }

  /// The DXF against the truth by other code: ezdxf and GEOS.
  test::ProgramRun check_dxf(const std::vector<std::string>& more) const {
    std::vector<std::string> words{CHALKFOLD_PYTHON,
                                   std::string(CHALKFOLD_SOURCE_DIR) + "/tests/outside/check_hide_dxf.py",
                                   (folder / "measured/brown hide.dxf").string(),
                                   (fs::path(CHALKFOLD_RENDERED_PHOTOS) / "hide-left.truth.json").string()};
    words.insert(words.end(), more.begin(), more.end());
    return test::run_program(words);
  }

  test::TemporaryFolder folder;
};

TEST_F(Hide, OfTwoPhotosComesWithItsFlawsAndUsableArea) {
  const test::ProgramRun program = run();
  ASSERT_EQ(program.exit, 0) << program.err << program.out;
  const Json all = results(), hide = measured(), truth = test::truth_of("hide-left")["panels"][0];
  EXPECT_EQ(test::complaints("results.schema.json", all), "");
  EXPECT_EQ(test::complaints("panel.schema.json", hide), "");
  EXPECT_TRUE(all["pieces"].empty());
  EXPECT_FALSE(fs::exists(folder / "pieces"));
  EXPECT_EQ(hide["cutouts"].size(), 1u);
  EXPECT_TRUE(hide["marks"]["matches"].empty() && hide["marks"]["writings"].empty() &&
              hide["marks"]["grain"].is_null());

  const Polyline outline = points_of(hide["outline"]["points"]), true_outline = points_of(truth["outline"]);
  geometry::Rigid2 motion;
  const double rms = rms_off(outline, true_outline, &motion);
  std::printf("outline rms %.3f mm\n", rms);
  EXPECT_LT(rms, outline_rms);
  EXPECT_GT(rms_off(outline, test::mirrored(true_outline)), mirrored_rms);

  const std::vector<Polyline> flaws = true_flaws(truth);
  ASSERT_EQ(flaws.size(), 3u);
  ASSERT_EQ(hide["flaws"].size(), flaws.size());
  for (const Polyline& flaw : flaws) {
    const Vec2 centre = geometry::centroid(flaw);
    double nearest = 1e300, off = 0;
    for (const Json& f : hide["flaws"]) {
      const Polyline ring = geometry::moved(motion, points_of(f["points"]));
      const double d = (geometry::centroid(ring) - centre).norm();
      if (d >= nearest) continue;
      nearest = d;
      off = geometry::signed_area(ring) / geometry::signed_area(flaw) - 1;
    }
    std::printf("flaw of %.0f mm2: centre %.2f mm off, area %+.2f %%\n", geometry::signed_area(flaw), nearest,
                100 * off);
    EXPECT_LT(nearest, ring_place);
    EXPECT_LT(std::abs(off), ring_area);
  }
  std::vector<Polyline> taken = flaws;
  for (const Json& hole : truth["holes"]) taken.push_back(points_of(hole));
  const double usable = geometry::area_without(true_outline, taken);
  std::printf("usable %+.3f %%\n", 100 * (hide["usable_area"].get<double>() / usable - 1));
  EXPECT_NEAR(hide["usable_area"].get<double>(), usable, usable_share * usable);
  EXPECT_NEAR(hide["usable_area"].get<double>(), usable, hide["usable_area_U"].get<double>());

  const test::ProgramRun good = check_dxf({});
  EXPECT_EQ(good.exit, 0) << good.out << good.err;
  std::printf("%s", good.out.c_str());
  EXPECT_EQ(check_dxf({"--mirror"}).exit, 1) << "the check sees a mirrored drawing";
}

TEST_F(Hide, TheSamePhotosOfAPanelHaveNoFlaws) {
  const test::ProgramRun program = run({{"kind", "panel"}});
  ASSERT_LE(program.exit, 1) << program.err;
  EXPECT_FALSE(measured().contains("flaws"));
  EXPECT_EQ(results()["pieces"].size(), 1u);
}

TEST_F(Hide, IsTheSameASecondTimeAndAfterTheKindChanged) {
  ASSERT_EQ(run().exit, 0);
  const std::string first = test::read_whole(folder / "measured/brown hide.json");
  ASSERT_EQ(run().exit, 0);
  EXPECT_EQ(test::read_whole(folder / "measured/brown hide.json"), first);
  ASSERT_EQ(run({{"kind", "offcut"}}).exit, 0);
  EXPECT_EQ(measured()["kind"], "offcut");
}

TEST_F(Hide, WithSeamsIsRefusedAsAJobFault) {
  test::write_whole(
      folder / "job.json",
      R"({"photos": ["a.jpg"], "panels": [{"name": "cow", "tag": 1, "kind": "hide"}, {"name": "top", "tag": 2}],
                        "seams": [{"a": "cow/1", "b": "top/1"}]})");
  const test::ProgramRun program = test::measure({folder / "job.json"}, folder / "out");
  EXPECT_EQ(program.exit, 2);
  EXPECT_THAT(program.err, HasSubstr("has no edges to sew"));
}

}  // namespace
}  // namespace chalkfold::tools
