// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/report/report_material.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/output/report/report.h"
#include "tests/output/ringed_flag.h"
#include "tests/output/schema_check.h"
#include "tests/output/set_results.h"

namespace chalkfold::output {
namespace {
using testing::HasSubstr;
using testing::Not;

TEST(ReportMaterial, TellsAreasRollHidesAndFaults) {
  const std::string html = material_html(test::set_results());
  EXPECT_THAT(html, HasSubstr("<h3>vinyl, woven</h3>"));
  EXPECT_THAT(html, HasSubstr("<h3>&lt;soft&gt; &amp; &quot;thin&quot;, leather</h3>"));
  EXPECT_THAT(html, HasSubstr("4</th>"));  // two flags and two strips
  EXPECT_THAT(html, HasSubstr("1 of 5.5 m2"));
  EXPECT_THAT(html, HasSubstr("arrow heads to the roll's end"));
  EXPECT_THAT(html, HasSubstr("edge strip has no grain line"));
  EXPECT_THAT(html, HasSubstr("not the best"));
  EXPECT_THAT(html, HasSubstr("src=\"layout/one.svg\""));
}

TEST(ReportMaterial, StandsInTheReportOnlyWhenThereIsAny) {
  EXPECT_THAT(report_html(test::set_results(), "a date"), HasSubstr("<h2>Material</h2>"));
  EXPECT_THAT(report_html(test::sample_results(), "a date"), Not(HasSubstr("<h2>Material</h2>")));
}

TEST(MaterialJson, FitsItsSchemaAndHoldsTheNumbers) {
  const Results results = test::set_results();
  const auto json = nlohmann::json::parse(results_json(results));
  EXPECT_EQ(test::complaints("results.schema.json", json), "");
  const auto& vinyl = json["material"][0];
  EXPECT_EQ(vinyl["options"]["kind"], "woven");
  EXPECT_EQ(vinyl["roll"]["copies"].size(), 4u);
  EXPECT_EQ(vinyl["roll"]["copies"][1]["mirrored"], true);
  EXPECT_NEAR(vinyl["cut_area"].get<double>(), 4 * test::flag_area(), 4);  // 1 mm2 a copy: its arc is flattened
  EXPECT_NEAR(vinyl["roll"]["share"].get<double>(),
              vinyl["cut_area"].get<double>() / vinyl["roll"]["area"].get<double>(), 1e-4);
  EXPECT_EQ(json["material"][1]["hides"]["count"], 1);
  EXPECT_TRUE(vinyl["hides"].is_null());
  EXPECT_EQ(vinyl["faults"][0]["code"], "grain-missing");
}

TEST(MaterialJson, ItsFaultsAreAmongAll) {
  bool found = false;
  for (const Fault& fault : all_faults(test::set_results())) found = found || fault.code == "grain-missing";
  EXPECT_TRUE(found);
}

TEST(ReportMaterial, ComparesMeasuredHidesByAreaAndSaysThatItIsNoLayout) {
  Results results = test::set_results();
  EXPECT_THAT(material_html(results), Not(HasSubstr("Measured to cut from")));
  PanelRecord hide;
  hide.panel = test::ringed_flag("brown hide");
  results.panels.push_back(hide);
  results.materials[1].measured = {results.panels.size() - 1};
  const draft::MaterialNeed& need = results.materials[1].need;
  const std::string html = material_html(results);
  EXPECT_THAT(html, HasSubstr("brown hide (hide, 0.021 m2): <b>0.021 m2 usable</b>"));
  EXPECT_THAT(html, HasSubstr("This is no layout"));
  const auto json = nlohmann::json::parse(results_json(results));
  EXPECT_EQ(test::complaints("results.schema.json", json), "");
  const auto& measured = json["material"][1]["measured"];
  EXPECT_EQ(measured["panels"], (nlohmann::json{"brown hide"}));
  EXPECT_NEAR(measured["usable_area"].get<double>(), test::ringed_flag_usable, 0.1);
  EXPECT_NEAR(measured["needed_area"].get<double>(), need.cut_area / need.options.usable_fraction, 0.1);
  EXPECT_EQ(measured["enough_by_area"].get<bool>(),
            need.cut_area / need.options.usable_fraction < test::ringed_flag_usable);
  EXPECT_FALSE(json["material"][0].contains("measured"));
}

}  // namespace
}  // namespace chalkfold::output
