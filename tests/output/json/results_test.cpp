// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/results.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <limits>

#include "tests/output/flag_panel.h"
#include "tests/output/schema_check.h"

namespace chalkfold::output {

namespace {
constexpr const char* schema = "results.schema.json";
}

TEST(ResultsJson, FitsItsSchema) {
  EXPECT_EQ(test::complaints(schema, nlohmann::json::parse(results_json(test::sample_results()))), "");
}

TEST(ResultsJson, TheSchemaRefusesMissingStrangeAndWrongFields) {
  const auto good = nlohmann::json::parse(results_json(test::sample_results()));
  auto missing = good, strange = good, wrong = good, not_a_number = good;
  missing["photos"][0].erase("sha256");
  strange["panels"][0]["area_mm2"] = 1;
  wrong["faults"][0]["severity"] = "bad";
  not_a_number["panels"][0]["U_max"] = nullptr;
  for (const auto& document : {missing, strange, wrong, not_a_number})
    EXPECT_NE(test::complaints(schema, document), "");
}

TEST(ResultsJson, HoldsTheNumbers) {
  const auto json = nlohmann::json::parse(results_json(test::sample_results()));
  EXPECT_EQ(json["exit"], 1);
  EXPECT_EQ(json["photos"].size(), 2u);
  EXPECT_EQ(json["photos"][0]["sheets"][1]["corners_dropped"], 1);
  EXPECT_EQ(json["photos"][0]["camera"]["height"], 1050.5);
  EXPECT_TRUE(json["photos"][1]["camera"].is_null());
  EXPECT_EQ(json["lenses"][0]["k2"], -0.1);
  EXPECT_EQ(json["panels"][0]["extent"][0], 200.0);
  EXPECT_EQ(json["panels"][0]["measured"], true);
  EXPECT_EQ(json["faults"][0]["code"], "print-scale-unmeasured");
}

TEST(Results, APanelWithARefusalOrWithoutAnOutlineIsNotMeasured) {
  PanelRecord record = test::sample_results().panels[0];
  EXPECT_TRUE(is_measured(record));
  record.panel.faults = {{"x", Severity::warning, {}, {}, {}, {}}};
  EXPECT_TRUE(is_measured(record));
  record.panel.faults.push_back({"x", Severity::refusal, {}, {}, {}, {}});
  EXPECT_FALSE(is_measured(record));
  EXPECT_FALSE(is_measured(PanelRecord{}));
}

TEST(Results, FaultsOfADimensionalChangeAreAmongAllFaultsButRefuseNoPanel) {
  Results results = test::sample_results();
  const std::size_t before = all_faults(results).size();
  results.panels[0].change.emplace();
  results.panels[0].change->faults = {{"change-not-even", Severity::warning, {}, {}, {}, {}},
                                      {"not-the-same-panel", Severity::refusal, {}, {}, {}, {}}};
  const Faults all = all_faults(results);
  ASSERT_EQ(all.size(), before + 1);
  EXPECT_EQ(std::count_if(all.begin(), all.end(), [](const Fault& f) { return f.code == "change-not-even"; }), 1);
}

TEST(Rounded, KeepsItsDecimalsAndNoMinusZero) {
  EXPECT_EQ(rounded(1.23456, 3).dump(), "1.235");
  EXPECT_EQ(rounded(-0.0001, 3).dump(), "0.0");
  EXPECT_TRUE(rounded(std::numeric_limits<double>::quiet_NaN(), 3).is_null());
}

}  // namespace chalkfold::output
