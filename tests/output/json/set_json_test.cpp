// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/set_json.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "pipeline/draft/set/seam_proposals.h"
#include "tests/draft/sewn_set.h"
#include "tests/output/flag_panel.h"
#include "tests/output/schema_check.h"

namespace chalkfold::output {
namespace {
using namespace drawn;

Results adjusted_results() {
  Results results = test::sample_results();
  std::vector<draft::SeamAsked> seams = sewn_seams();
  seams[0].ease = -4;
  seams[0].group = draft::SewingGroup::sides_to_centre;
  seams[0].order = 3;
  seams.pop_back();
  draft::AdjustedSet set = draft::adjust_set(exact_set(), seams);
  set.report.proposals = draft::propose_seams(seams, exact_set());
  results.set.emplace();
  results.set->report = set.report;
  results.set->wear = 0.01;
  for (const draft::Piece& piece : set.pieces) results.set->adjusted.push_back({piece, {"adjusted/x.svg"}, ""});
  return results;
}

TEST(SetJson, FitsTheSchemaOfTheResults) {
  const auto json = nlohmann::json::parse(results_json(adjusted_results()));
  EXPECT_EQ(test::complaints("results.schema.json", json), "");
  auto wrong = json;
  wrong["seams"][0]["verdict"] = "nearly";
  EXPECT_NE(test::complaints("results.schema.json", wrong), "");
}

TEST(SetJson, HoldsSeamsBeforeAndAfterProposalsAndMoves) {
  const auto json = nlohmann::json::parse(results_json(adjusted_results()));
  const auto& seam = json["seams"][0];
  EXPECT_EQ(seam["difference"], 0.0);
  EXPECT_EQ(seam["verdict"], "does not meet");
  EXPECT_NEAR(seam["after"]["difference"].get<double>(), -4, 0.05);
  EXPECT_EQ(seam["after"]["verdict"], "eased");
  EXPECT_EQ(seam["group"], "sides to centre");
  EXPECT_EQ(seam["order"], 3);
  EXPECT_EQ(seam["runs"], "against");
  EXPECT_EQ(seam["intervals"][2]["mark_a"], 0);
  EXPECT_EQ(json["seam_proposals"][0]["a"], "front/4");
  EXPECT_GT(json["seam_proposals"][0]["confidence"], 0.5);
  EXPECT_FALSE(json["seam_proposals"][0].contains("after"));
  EXPECT_EQ(json["unpaired_edges"].size(), 8u);
  EXPECT_EQ(json["adjustment"]["pieces"][1]["edges"][2]["number"], 3);
  double largest = 0;  // which of the pieces gives way is not the file's to say
  for (const auto& piece : json["adjustment"]["pieces"]) largest = std::max(largest, piece["largest"].get<double>());
  EXPECT_GT(largest, 0.1);
}

TEST(SetJson, ASetWithoutAdjustmentHasNullAfterwards) {
  Results results = test::sample_results();
  results.set.emplace();
  results.set->report = draft::report_set(exact_set(), sewn_seams());
  const auto json = nlohmann::json::parse(results_json(results));
  EXPECT_EQ(test::complaints("results.schema.json", json), "");
  EXPECT_TRUE(json["seams"][0]["after"].is_null());
  EXPECT_EQ(json["adjustment"]["done"], false);
}

}  // namespace
}  // namespace chalkfold::output
