// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/words/sewing_words.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/output/report/report_sewing.h"
#include "pipeline/output/words/cautions.h"
#include "tests/output/set_results.h"

namespace chalkfold::output {
namespace {
using testing::Contains;
using testing::Each;
using testing::HasSubstr;
using testing::Not;

TEST(SewingWords, StandInTheOrderOfSewing) {
  const auto words = step_words(test::set_results());
  ASSERT_EQ(words.size(), 3u);
  EXPECT_EQ(words[0].heading, "1. flag/4 to flag/5");  // centre
  EXPECT_EQ(words[1].heading, "2. flag/1 to left <side>/3");
  EXPECT_EQ(words[2].heading, "3. edge strip/1 to flag/2");
}

TEST(SewingWords, TellLengthMarksEaseStitchAndThread) {
  const auto facts = step_words(test::set_results())[1].facts;
  EXPECT_THAT(facts, Contains(HasSubstr("Length 220.0 mm on flag, 219.6 mm on left <side>; ease in 3.0 mm of flag")));
  EXPECT_THAT(facts, Contains(HasSubstr("From mark to mark: 100.0 on 99.8, 100.0 on 99.8 mm")));
  EXPECT_THAT(facts, Contains(HasSubstr("Stitch 10 mm from the cut edge")));
  EXPECT_THAT(facts, Contains(HasSubstr("Thread 0.81 m (2.4 mm sewn through)")));  // 0.22 m x (2 + 2 x 2.4 / 4) x 1.15
  EXPECT_THAT(facts, Contains("slowly <here>"));
}

TEST(SewingWords, CautionsStandAtThePiecesTheyConcern) {
  const auto words = step_words(test::set_results());
  EXPECT_THAT(words[1].cautions, Contains(airbag_caution_short()));
  EXPECT_THAT(words[2].cautions, Not(Contains(airbag_caution_short())));
  EXPECT_THAT(words[0].cautions, Contains(HasSubstr("do not meet: 7.5 mm")));
  EXPECT_THAT(words[2].cautions, Contains(ring_caution()));
  EXPECT_THAT(words[2].facts[0], HasSubstr("First try the cover on the seat."));
  Results foam = test::set_results();
  foam.pieces[2].piece.material = "3 mm Foam";
  EXPECT_THAT(step_words(foam)[2].cautions, Contains(glue_caution()));
}

TEST(ReportSewing, HasSheetCautionsAndStepsAndNothingWithoutSeams) {
  const std::string html = sewing_html(test::set_results());
  for (const char* words : {"common practice, no source", "type 301", "3. edge strip/1 to flag/2",
                            "left &lt;side&gt;/3", "href=\"sewing.pdf\"", "hog-ring", "open where the vehicle"})
    EXPECT_THAT(html, HasSubstr(words));
  EXPECT_EQ(sewing_html(test::sample_results()), "");
}

TEST(SewingJson, HoldsTheSteps) {
  const auto json = nlohmann::json::parse(results_json(test::set_results()))["sewing"];
  EXPECT_EQ(json["steps"][0]["seam"], 3);
  EXPECT_EQ(json["steps"][0]["group"], "centre");
  EXPECT_EQ(json["steps"][1]["group_by"], "roles");
  EXPECT_EQ(json["steps"][2]["fit_on_seat"], "job");
  EXPECT_EQ(json["roles"][1]["role"], "side");
  EXPECT_EQ(json["roles"][1]["by"], "words");
  double total = 0;
  for (const auto& step : json["steps"]) total += step["thread"]["total"].get<double>();
  EXPECT_NEAR(json["thread"]["total"].get<double>(), total, 0.2);  // mm, a tenth is written
  EXPECT_TRUE(nlohmann::json::parse(results_json(test::sample_results()))["sewing"].is_null());
}

}  // namespace
}  // namespace chalkfold::output
