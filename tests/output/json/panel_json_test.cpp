// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/panel_json.h"

#include <gtest/gtest.h>

#include "tests/output/flag_panel.h"
#include "tests/output/ringed_flag.h"
#include "tests/output/schema_check.h"

namespace chalkfold::output {

namespace {
PanelRecord record_of(const panel::Panel& panel) {
  PanelRecord record;
  record.panel = panel;
  record.thickness_sigma = 0.2;
  return record;
}
}  // namespace

TEST(PanelJson, FitsItsSchema) {
  panel::Panel panel = test::flag_panel();
  panel.tag = 7;
  panel.faults = {{"panel-low-contrast", Severity::warning, "seen \xFF", "remedy", "flag.jpg", "flag"}};
  EXPECT_EQ(test::complaints("panel.schema.json", nlohmann::json::parse(panel_json(record_of(panel)))), "");
}

TEST(PanelJson, TheSchemaRefusesWhatIsNoPanel) {
  auto json = nlohmann::json::parse(panel_json(record_of(test::flag_panel())));
  json["frame"]["mirrored"] = true;
  EXPECT_NE(test::complaints("panel.schema.json", json), "");
  json["frame"]["mirrored"] = false;
  EXPECT_EQ(test::complaints("panel.schema.json", json), "");
  json["outline"]["points"][0].push_back(3);
  EXPECT_NE(test::complaints("panel.schema.json", json), "");
}

TEST(PanelJson, GivesThePointsBackUnmirrored) {
  const panel::Panel panel = test::flag_panel();
  const auto json = nlohmann::json::parse(panel_json(record_of(panel)));
  Polyline points;
  for (const auto& p : json["outline"]["points"]) points.emplace_back(p[0], p[1]);
  ASSERT_EQ(points.size(), panel.outline.points.size());
  const Vec2 origin(json["frame"]["origin_in_table"][0], json["frame"]["origin_in_table"][1]);
  constexpr double decimals_mm = 1e-4;  // point and origin are each rounded to four decimals
  for (std::size_t i = 0; i < points.size(); ++i) {
    EXPECT_LE((points[i] + origin - panel.outline.points[i]).cwiseAbs().maxCoeff(), decimals_mm) << "point " << i;
  }
  EXPECT_FALSE(geometry::contains(points, test::flag_notch));
  EXPECT_TRUE(geometry::contains(points, test::flag_notch_mirrored));
  EXPECT_EQ(json["outline"]["U"].size(), points.size());
  EXPECT_EQ(json["outline"]["sigma"][5], 0.03);
  EXPECT_EQ(json["cutouts"].size(), 1u);
}

TEST(PanelJson, AHideHasItsFlawsAndUsableArea) {
  const panel::Panel hide = test::ringed_flag();
  auto json = nlohmann::json::parse(panel_json(record_of(hide)));
  EXPECT_EQ(test::complaints("panel.schema.json", json), "");
  EXPECT_EQ(json["kind"], "hide");
  EXPECT_EQ(json["face_up"], true);
  EXPECT_NEAR(json["usable_area"].get<double>(), test::ringed_flag_usable, 0.1);
  EXPECT_NEAR(json["usable_area_U"].get<double>(), 0.25 * (hide.perimeter + 80) + 2 * 0.5 * 160, 0.1);
  ASSERT_EQ(json["flaws"].size(), 2u);
  EXPECT_EQ(json["flaws"][1]["centre"], (nlohmann::json{140.0, 80.0}));
  EXPECT_EQ(json["flaws"][1]["area"], 1600.0);
  json.erase("flaws");
  EXPECT_NE(test::complaints("panel.schema.json", json), "") << "kind without flaws";
}

TEST(PanelJson, APanelSaysNothingOfFlaws) {
  const auto json = nlohmann::json::parse(panel_json(record_of(test::flag_panel())));
  for (const char* key : {"kind", "face_up", "usable_area", "usable_area_U", "flaws"})
    EXPECT_FALSE(json.contains(key)) << key;
}

}  // namespace chalkfold::output
