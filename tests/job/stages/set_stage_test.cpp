// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/set_stage.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/draft/piece/lay_lines.h"
#include "pipeline/job/job_inputs.h"
#include "pipeline/job/run_job.h"
#include "pipeline/output/json/panel_json.h"
#include "pipeline/output/json/piece_json.h"
#include "pipeline/output/report/report_seams.h"
#include "tests/common/run_program.h"
#include "tests/draft/sewn_set.h"
#include "tests/output/schema_check.h"

namespace chalkfold::job {
namespace {
namespace fs = std::filesystem;
using namespace drawn;
using testing::Contains;
using testing::HasSubstr;
using testing::Not;

/// Three measured panels of a set, one of them worn, and a job with their seams.
class SetStage : public testing::Test {
 protected:
  void SetUp() override {
    for (const Design& design : sewn_designs()) {
      Worn worn;
      worn.noise = 0.1;
      worn.seed = static_cast<std::uint32_t>(design.name.size());
      if (design.name == "front") worn.stretch = 0.015;
      output::PanelRecord record;
      record.panel = worn_panel(design, worn);
      test::write_whole(folder / (design.name + ".json"), output::panel_json(record));
    }
  }
  std::string job(const std::string& more) const {
    return R"({"job": "helm seat", "measured": ["cushion top.json", "front.json", "side.json"],
  "defaults": {"symmetric": "no", "existing_allowance_mm": 0, "allowance_mm": 10})" +
           (more.empty() ? "" : ",\n" + more) + "}";
  }
  output::Results run(const std::string& more) {
    test::write_whole(folder / "job.json", job(more));
    RunOptions options;
    options.out = folder / "out";
    add_json_input(folder / "job.json", options);
    NoProgress progress;
    return run_job(options, progress);
  }
  /// A job with one seam, of which one panel is fixed.
  RunOptions one_seam(const std::string& a, const std::string& b, const std::string& fixed) const {
    RunOptions options;
    options.out = folder / "out";
    fs::create_directories(options.out);
    options.job.emplace();
    options.job->seams = {seam(1, a, b)};
    options.job->panels.resize(1);
    options.job->panels[0].name = fixed;
    options.job->panels[0].fixed = true;
    return options;
  }
  static std::string told(const Faults& faults) {
    std::string all;
    for (const Fault& f : faults) all += f.code + ": " + f.seen + " " + f.remedy + "\n";
    return all;
  }
  nlohmann::json written(const std::string& file) const {
    return nlohmann::json::parse(test::read_whole(folder / "out" / file));
  }

  test::TemporaryFolder folder;
};

const std::string seams = R"("seams": [{"a": "cushion top/1", "b": "front/3"}, {"a": "cushion top/4", "b": "side/3"},
  {"a": "front/4", "b": "side/2"}])";

TEST_F(SetStage, SeamsOfAJobMeetInTheAdjustedPiecesBesideTheUnadjusted) {
  const output::Results results = run(seams + R"(, "set": {"move_limit_mm": 12})");
  EXPECT_EQ(results.exit, 0) << told(results.faults);
  ASSERT_TRUE(results.set);
  const draft::SetReport& report = results.set->report;
  ASSERT_TRUE(report.adjusted) << report.reason << told(results.faults);
  EXPECT_LT(report.seams[0].difference, -5) << "the front is worn by 1.5 %";
  for (const draft::SeamReport& seam : report.after) EXPECT_NEAR(seam.difference, 0, 0.3);
  EXPECT_LT(report.moves[0].largest, 0.3) << "the top is right and stays";
  for (const char* file :
       {"pieces/front.svg", "adjusted/front.svg", "adjusted/front.dxf", "adjusted/front.pdf", "adjusted/front.json",
        "adjusted/cutter/front.dxf", "adjusted/set.svg", "adjusted/set.dxf", "pictures/front adjusted.svg"})
    EXPECT_TRUE(fs::exists(folder / "out" / file)) << file;
  const draft::Piece before = output::read_piece(written("pieces/front.json"), "before");
  const draft::Piece after = output::read_piece(written("adjusted/front.json"), "after");
  EXPECT_FALSE(before.adjusted);
  EXPECT_TRUE(after.adjusted);
  EXPECT_GT(geometry::length(before.edges[2].sew) - geometry::length(after.edges[2].sew), 5);
  EXPECT_THAT(test::read_whole(folder / "out" / "adjusted" / "front.dxf"), HasSubstr("adjusted to its seams"));
  EXPECT_THAT(test::read_whole(folder / "out" / "pieces" / "front.dxf"), Not(HasSubstr("adjusted to its seams")));
}

TEST_F(SetStage, ResultsAndReportTellSeamsAndMoves) {
  run(seams + R"(, "set": {"move_limit_mm": 12})");
  const auto json = written("results.json");
  EXPECT_EQ(test::complaints("results.schema.json", json), "");
  ASSERT_EQ(json["seams"].size(), 3u);
  EXPECT_EQ(json["seams"][0]["a"], "cushion top/1");
  EXPECT_EQ(json["seams"][0]["verdict"], "does not meet");
  EXPECT_EQ(json["seams"][0]["after"]["verdict"], "meets");
  EXPECT_EQ(json["seams"][0]["intervals"].size(), 3u);
  EXPECT_EQ(json["adjustment"]["done"], true);
  EXPECT_EQ(json["adjustment"]["pieces"][1]["piece"], "front");
  EXPECT_EQ(json["unpaired_edges"].size(), 6u);
  const std::string report = test::read_whole(folder / "out" / "report.html");
  for (const char* text : {"<h2>Seams</h2>", "cushion top/1", "does not meet", "Adjusted so that the set sews together",
                           "adjusted/front.svg", "front%20adjusted.svg", "No seam of the job takes these edges"})
    EXPECT_THAT(report, HasSubstr(text));
}

TEST_F(SetStage, WithoutSeamsNothingIsAdjustedAndTheTrueSeamsAreProposed) {
  const output::Results results = run("");
  ASSERT_TRUE(results.set);
  EXPECT_FALSE(results.set->report.adjusted);
  EXPECT_FALSE(fs::exists(folder / "out" / "adjusted"));
  const auto json = written("results.json");
  EXPECT_EQ(test::complaints("results.schema.json", json), "");
  EXPECT_TRUE(json["seams"].empty());
  ASSERT_GE(json["seam_proposals"].size(), 3u);
  std::vector<std::string> first;
  for (int i = 0; i < 3; ++i) {
    const auto& p = json["seam_proposals"][static_cast<std::size_t>(i)];
    first.push_back(p["a"].get<std::string>() + " " + p["b"].get<std::string>());
  }
  EXPECT_THAT(first, testing::UnorderedElementsAre("cushion top/1 front/3", "cushion top/4 side/3", "front/4 side/2"));
  EXPECT_THAT(test::read_whole(folder / "out" / "report.html"), HasSubstr("Seams that may be meant"));
}

TEST_F(SetStage, AJobMaySayThatNothingIsAdjusted) {
  const output::Results results = run(seams + R"(, "set": {"adjust": false})");
  EXPECT_FALSE(results.set->report.adjusted);
  EXPECT_FALSE(fs::exists(folder / "out" / "adjusted"));
  EXPECT_THAT(told(results.faults), HasSubstr("seam-does-not-meet: Seam 1 (cushion top/1 with front/3)"));
  EXPECT_EQ(results.exit, 0) << "a warning, no refusal";
}

TEST_F(SetStage, AWrongPairingIsRefusedByNameAndThePiecesStay) {
  const output::Results results = run(R"("seams": [{"number": 7, "a": "cushion top/2", "b": "front/3"}])");
  EXPECT_EQ(results.exit, 1);
  EXPECT_THAT(told(results.faults), HasSubstr("seam-unlikely: Seam 7 (cushion top/2 with front/3)"));
  EXPECT_TRUE(fs::exists(folder / "out" / "pieces" / "front.svg"));
  EXPECT_FALSE(fs::exists(folder / "out" / "adjusted"));
  EXPECT_THAT(test::read_whole(folder / "out" / "report.html"), HasSubstr("were not adjusted to each other"));
}

TEST_F(SetStage, FixedPanelsAndAdjustedFilesOfAnEarlierRunAreHeeded) {
  run(seams + R"(, "set": {"move_limit_mm": 12})");
  const output::Results fixed = run(R"("panels": [{"name": "front", "fixed": true}], )" + seams +
                                    R"(, "set": {"move_limit_mm": 12, "wear": "either"})");
  ASSERT_TRUE(fixed.set->report.adjusted) << told(fixed.faults);
  EXPECT_TRUE(fixed.set->report.moves[1].fixed);
  EXPECT_EQ(fixed.set->report.moves[1].largest, 0);
  EXPECT_GT(fixed.set->report.moves[0].largest, 1) << "the top follows the front now";
  const output::Results none = run("");
  EXPECT_THAT(told(none.faults), HasSubstr("older-files"));
}

TEST_F(SetStage, ASeamOfAPanelThatWasNotMeasuredFallsAndTheOthersGoOn) {
  const std::string more =
      seams.substr(0, seams.size() - 1) + R"(, {"a": "back/1", "b": "front/1"}], "set": {"move_limit_mm": 12})";
  const output::Results results = run(R"("panels": [{"name": "back"}], )" + more);
  EXPECT_THAT(told(results.faults), HasSubstr("seam-piece-refused: Seam 4: the piece \"back\" was refused."));
  EXPECT_THAT(told(results.faults), Not(HasSubstr("seam-unknown-piece")));
  for (const Fault& fault : results.faults) {
    if (fault.code != "seam-piece-refused") continue;
    EXPECT_EQ(fault.severity, Severity::warning);
  }
  ASSERT_TRUE(results.set->report.adjusted) << results.set->report.reason;
  EXPECT_EQ(results.set->report.after.size(), 3u);
  EXPECT_EQ(results.set->adjusted.size(), 3u);
  for (const draft::UnpairedEdge& edge : results.set->report.unpaired)
    EXPECT_FALSE(edge.piece == "front" && edge.edge == 1) << "the seam that fell takes it";
}

/// A piece of straight edges, each with this allowance (mm).
output::PieceRecord straight_piece(const std::string& name, const Polyline& corners, double allowance = 10) {
  output::PieceRecord record;
  record.piece.name = name;
  for (const geometry::CurveSegment& side : polygon(corners)) {
    draft::PieceEdge edge;
    edge.number = static_cast<int>(record.piece.edges.size()) + 1;
    edge.sew = {side};
    edge.allowance = allowance;
    edge.U = 0.1;
    record.piece.edges.push_back(edge);
    record.piece.sew_line.push_back(side.from);
  }
  draft::lay_cut_line(record.piece, 3, 10);
  return record;
}

TEST_F(SetStage, AnAdjustedPieceThatIsRefusedIsWrittenAsDraftedAndTheReportSaysSo) {
  const RunOptions options = one_seam("arch/1", "strip/1", "strip");
  output::Results
      results;  // the arch has a slot of 20.2 mm: narrower than both allowances once it is as short as the strip
  results.pieces = {
      straight_piece("arch",
                     {{0, 0}, {300, 0}, {300, 200}, {160.2, 200}, {160.2, 100}, {140, 100}, {140, 200}, {0, 200}}),
      straight_piece("strip", {{0, 0}, {294, 0}, {294, 60}, {0, 60}})};
  sew_set(options, results);
  ASSERT_TRUE(results.set && results.set->report.adjusted) << told(results.faults);
  EXPECT_TRUE(has_refusal(results.faults));
  EXPECT_THAT(told(results.faults), HasSubstr("sew-line-crosses: The cut line crosses itself"));
  EXPECT_THAT(told(results.faults), HasSubstr("stands as it was drafted"));
  EXPECT_THAT(told(results.faults), HasSubstr("seam-does-not-meet: Seam 1")) << "as the pieces are cut at last";
  const draft::Piece beside = output::read_piece(written("adjusted/arch.json"), "beside");
  EXPECT_FALSE(beside.adjusted);
  EXPECT_NEAR(geometry::length(beside.edges[0].sew), 300, 1e-3);
  EXPECT_TRUE(fs::exists(folder / "out" / "adjusted" / "cutter" / "arch.dxf"));
  EXPECT_THAT(output::seams_html(results), HasSubstr("It could not be cut as its seams ask"));
}

TEST_F(SetStage, AnAdjustedPieceThatCannotBeDrawnIsWrittenAsDrafted) {
  const RunOptions options = one_seam("edge strip/1", "bench/1", "bench");
  output::Results
      results;  // with its allowances the strip is longer than pages are made for once it is as long as the bench
  results.pieces = {straight_piece("edge strip", {{0, 0}, {9977, 0}, {9977, 60}, {0, 60}}),
                    straight_piece("bench", {{0, 0}, {9987, 0}, {9987, 60}, {0, 60}}, 5)};
  sew_set(options, results);
  ASSERT_TRUE(results.set && results.set->report.adjusted) << told(results.faults);
  EXPECT_THAT(told(results.faults), HasSubstr("adjustment-failed: edge strip: it could not be drawn"));
  EXPECT_NEAR(std::abs(results.set->report.after[0].difference), 10, 1e-3) << "as the pieces are cut at last";
  const draft::Piece beside = output::read_piece(written("adjusted/edge strip.json"), "beside");
  EXPECT_FALSE(beside.adjusted);
  EXPECT_NEAR(geometry::length(beside.edges[0].sew), 9977, 1e-3);
  EXPECT_TRUE(fs::exists(folder / "out" / "adjusted" / "edge strip.pdf"));
}

TEST_F(SetStage, WhatTheJobSaysOfAPanelIsSaidOfItsNumberedFellowsToo) {
  RunOptions options;
  options.job.emplace();
  options.job->panels.resize(2);
  options.job->panels[0].name = "wing";
  options.job->panels[0].fixed = true;
  options.job->panels[1].name = "front";
  options.job->panels[1].wear = 0.03;
  output::Results results;
  for (const char* name : {"wing", "wing-2", "front", "front-2", "side"}) {
    results.pieces.emplace_back();
    results.pieces.back().piece.name = name;
  }
  const draft::AdjustOptions adjust = adjust_options_of(options, results);
  EXPECT_THAT(adjust.fixed, testing::UnorderedElementsAre("wing", "wing-2"));
  EXPECT_THAT(adjust.piece_wear,
              testing::UnorderedElementsAre(testing::Pair("front", 0.03), testing::Pair("front-2", 0.03)));
}

TEST_F(SetStage, TheSameRunGivesTheSameBytes) {
  run(seams + R"(, "set": {"move_limit_mm": 12})");
  const std::string first = test::read_whole(folder / "out" / "adjusted" / "front.json");
  const std::string results = test::read_whole(folder / "out" / "results.json");
  fs::remove_all(folder / "out");
  run(seams + R"(, "set": {"move_limit_mm": 12})");
  EXPECT_EQ(test::read_whole(folder / "out" / "adjusted" / "front.json"), first);
  EXPECT_EQ(test::read_whole(folder / "out" / "results.json"), results);
}

}  // namespace
}  // namespace chalkfold::job
