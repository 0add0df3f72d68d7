// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/plan/job_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "pipeline/common/error.h"
#include "pipeline/job/job_inputs.h"
#include "pipeline/job/plan/job_plan.h"
#include "pipeline/job/plan/json_lines.h"
#include "pipeline/job/run_job.h"
#include "tests/common/run_program.h"
#include "tests/job/fake_stages.h"
#include "tests/job/job_faults.h"
#include "tests/output/schema_check.h"

namespace chalkfold::job {
namespace {

using test::faults_of;
using testing::HasSubstr;

/// The invented launch's two helm seats.
const char* const helm_seats = R"json({
  // measured on the workshop table
  "job": "helm seats",
  "print": {"long_bar_mm": 239.6, "short_bar_mm": 169.8, "sigma_mm": 0.1},
  "tape": [{"sheets": [1, 3], "mm": 1012.0, "sigma_mm": 0.5}],
  "defaults": {"side": "inside", "thickness_mm": 1.2, "allowance_mm": 10, "existing_allowance_mm": "measured"},
  "phone": "the shop's",
  "photos": [{"file": "photos/one.jpg", "setup": "table"}],
  "panels": [
    {"name": "cushion top", "part": "cushion", "tag": 1, "symmetric": "yes", "fold": "left", "quantity": 2},
    {"name": "side left", "tag": 3, "edge_allowances_mm": {"2": 15}, "existing_allowance_mm": 8},
    {"name": "side right", "photos": ["photos/two.jpg"], "pair_of": "side left", "thickness_mm": 5, "grain_deg": 90} /* foam */
  ]
})json";

TEST(JobFile, KnowsMaterialsStitchAndRoles) {
  const char* const bytes = R"json({"photos": ["a.jpg"],
    "panels": [{"name": "top", "tag": 1, "role": "edge strip", "material": "hide"}],
    "materials": {"hide": {"kind": "leather", "roll_width_mm": 1500, "usable_width_mm": 1450, "gap_mm": 4, "hide_m2": 4.8,
                           "usable_fraction": 0.6},
                  "cloth": {"kind": "woven", "either_way": true}},
    "sewing": {"stitch_mm": 5, "thickness_mm": 3, "waste": 0.2}})json";
  EXPECT_EQ(test::complaints("job.schema.json", nlohmann::json::parse(bytes)), "");
  const JobFile job = read_job_file(bytes, "job.json", "");
  const draft::MaterialOptions& hide = job.materials.at("hide");
  EXPECT_EQ(hide.kind, draft::MaterialKind::leather);
  EXPECT_EQ(hide.roll_width, 1500);
  EXPECT_EQ(draft::usable_width(hide), 1450);
  EXPECT_EQ(hide.gap, 4);
  EXPECT_EQ(hide.hide_area, 4.8e6);
  EXPECT_EQ(hide.usable_fraction, 0.6);
  EXPECT_TRUE(job.materials.at("cloth").either_way);
  EXPECT_EQ(draft::usable_width(job.materials.at("cloth")), 1400);
  EXPECT_EQ(job.panels[0].role, draft::PieceRole::edge_strip);
  EXPECT_EQ(job.stitch.stitch, 5);
  EXPECT_EQ(job.stitch.thickness, 3);
  EXPECT_EQ(job.stitch.waste, 0.2);
}

TEST(JobFile, NamesWhatIsWrongWithAMaterial) {
  const std::string wrong = faults_of(R"json({"photos": ["a.jpg"], "materials": {"hide": {"kind": "suede",
    "usable_width_mm": 1600, "rol_width_mm": 1}}})json");
  EXPECT_THAT(wrong, HasSubstr("materials.hide.kind: must be one of woven, artificial leather, leather, other"));
  EXPECT_THAT(wrong, HasSubstr("materials.hide.usable_width_mm: must be a number from 100 to 1400"));
  EXPECT_THAT(wrong, HasSubstr("did you mean roll_width_mm?"));
  EXPECT_THAT(faults_of(R"json({"photos": ["a.jpg"], "materials": 3})json"), HasSubstr("materials: must be an object"));
  EXPECT_THAT(faults_of(R"json({"photos": ["a.jpg"], "panels": [{"name": "a", "tag": 1, "role": "left"}]})json"),
              HasSubstr("must be one of centre, side, edge strip"));
}

TEST(JobFile, IsReadWithItsComments) {
  const JobFile job = read_job_file(helm_seats, "job.json", "jobs");
  EXPECT_EQ(job.job, "helm seats");
  EXPECT_EQ(job.print.long_bar_mm, 239.6);
  ASSERT_EQ(job.tape.size(), 1u);
  EXPECT_EQ(job.tape[0].mm, 1012);
  ASSERT_EQ(job.panels.size(), 3u);
  EXPECT_EQ(job.photos, (std::vector<std::filesystem::path>{"jobs/photos/one.jpg", "jobs/photos/two.jpg"}));
  const draft::DraftOptions top = draft_options_of(job.panels[0], job, {}),
                            left = draft_options_of(job.panels[1], job, {}),
                            right = draft_options_of(job.panels[2], job, {});
  EXPECT_EQ(top.part, "cushion");
  EXPECT_EQ(top.quantity, 2);
  EXPECT_EQ(top.symmetry.fold, draft::Fold::left);
  EXPECT_TRUE(top.existing_measured);
  EXPECT_FALSE(left.existing_measured);
  EXPECT_EQ(left.existing_allowance, 8);
  EXPECT_EQ(left.edge_allowances.at(2), 15);
  EXPECT_EQ(right.grain_deg, 90);
  EXPECT_EQ(job.panels[2].pair_of, "side left");
}

TEST(JobFile, FitsItsSchemaAndAWrongOneDoesNot) {
  EXPECT_EQ(test::complaints("job.schema.json", nlohmann::json::parse(helm_seats, nullptr, true, true)), "");
  EXPECT_NE(test::complaints("job.schema.json", nlohmann::json::parse("{\"photos\": [], \"seems\": []}")), "");
}

TEST(JobFile, NamesAndDraftsThePanelsOfARun) {
  const test::TemporaryFolder folder;
  for (const char* photo : {"a.jpg", "b.jpg"}) test::write_whole(folder / photo, photo);
  test::write_whole(folder / "job.json",
                    R"({"job": "launch", "defaults": {"thickness_mm": 2, "existing_allowance_mm": 0}, "panels": [
    {"name": "top", "photos": ["a.jpg"], "allowance_mm": 14, "part": "cushion"}, {"name": "gone", "tag": 9}], "photos": ["b.jpg"]})");
  RunOptions options;
  add_json_input(folder / "job.json", options);
  options.out = folder / "out";
  NoProgress progress;
  const output::Results results = run_job(options, progress, test::fake_stages(std::make_shared<test::StageCounts>()));
  EXPECT_EQ(results.exit, 1);  // the panel with tag 9 is in no photo
  ASSERT_EQ(results.panels.size(), 2u);
  EXPECT_EQ(results.panels[0].panel.name, "b");  // photos of the job first, then those of its panels
  EXPECT_EQ(results.panels[1].panel.name, "top");
  EXPECT_TRUE(std::none_of(results.faults.begin(), results.faults.end(),
                           [](const Fault& f) { return f.code == "thickness-assumed"; }));
  EXPECT_EQ(results.pieces[1].piece.edges[0].allowance, 14);
  EXPECT_EQ(results.pieces[1].piece.part, "cushion");
  EXPECT_EQ(results.pieces[0].piece.edges[0].allowance, 10);
  EXPECT_EQ(results.pieces[0].piece.job, "launch");
  EXPECT_TRUE(std::filesystem::exists(folder / "out/pieces/top.dxf"));
  EXPECT_TRUE(std::any_of(results.faults.begin(), results.faults.end(),
                          [](const Fault& f) { return f.code == "panel-not-found" && f.panel == "gone"; }));
}

TEST(JobFile, AllFaultsAreToldAtOnceWithTheirLines) {
  const std::string told = faults_of(
      "{\n  \"photos\": [\"a.jpg\"],\n  \"defalts\": {},\n  \"panels\": [\n    {\"name\": \"top\", \"photos\": "
      "[\"a.jpg\"], \"quantity\": 0},\n    {\"name\": \"TOP\", \"tag\": 3, \"fold\": \"up\"}\n  ]\n}\n");
  EXPECT_THAT(told, HasSubstr("job.json, line 3: defalts: unknown key; did you mean defaults?"));
  EXPECT_THAT(told, HasSubstr("job.json, line 5: panels[0].quantity: must be a whole number from 1 to 1000, it is 0"));
  EXPECT_THAT(told, HasSubstr("job.json, line 6: panels[1].fold: must be one of mean, left, right, it is \"up\""));
  EXPECT_THAT(told, HasSubstr("job.json, line 6: panels[1].name: \"TOP\" is panels[0] already"));
  EXPECT_EQ(std::count(told.begin(), told.end(), '\n'), 3);
}

TEST(JobFile, NamesThatLeaveTheFolderAreRefused) {
  for (const char* name : {"../top", "/etc/top", "a/b", "CON", "top.", "nul.dxf"})
    EXPECT_THAT(
        faults_of(std::string("{\"panels\": [{\"name\": \"") + name + "\", \"tag\": 1}], \"photos\": [\"a.jpg\"]}"),
        HasSubstr("cannot be the name of a file"))
        << name;
}

TEST(JobFile, WhatIsNoJsonIsToldWithItsLine) {
  EXPECT_THAT(faults_of("{\n  \"photos\": [\"a.jpg\"\n  \"panels\": []\n}"),
              HasSubstr("job.json, line 3: this is no JSON from here on"));
  EXPECT_THAT(faults_of(""), HasSubstr("job.json, line 1"));
  EXPECT_THAT(faults_of("[]"), HasSubstr("must be an object"));
  EXPECT_THAT(faults_of("{}"), HasSubstr("names neither photos nor panels"));
  EXPECT_THAT(faults_of("{\"panels\": [{\"name\": \"top\", \"tag\": 1}]}"), HasSubstr("no photo is named"));
}

TEST(JobFile, APairMustExist) {
  EXPECT_THAT(faults_of("{\"photos\": [\"a.jpg\"], \"panels\": [{\"name\": \"side left\", \"tag\": 1}, {\"name\": "
                        "\"right\", \"tag\": 2, \"pair_of\": \"side lefd\"}]}"),
              HasSubstr("there is no panel \"side lefd\"; did you mean \"side left\"?"));
}

TEST(JobFile, ThreeHundredMutatedOnesNeverCrash) {
  std::mt19937 random(4);
  const std::string good = helm_seats;
  int refused = 0;
  for (int i = 0; i < 300; ++i) {
    std::string bytes = good;
    for (int k = 0; k < 1 + static_cast<int>(random() % 4); ++k) {
      const std::size_t at = random() % bytes.size();
      switch (random() % 4) {
        case 0:
          bytes[at] = static_cast<char>(random() % 256);
          break;
        case 1:
          bytes.erase(at, 1 + random() % 12);
          break;
        case 2:
          bytes.insert(at, 1, "{}[],:\"-9e"[random() % 10]);
          break;
        default:
          bytes.resize(at + 1);
      }
    }
    try {
      read_job_file(bytes, "job.json", "jobs");
    } catch (const UsageError& e) {
      ++refused;
      EXPECT_THAT(e.what(), HasSubstr("job.json"));
    }  // anything else fails the test
  }
  EXPECT_GT(refused, 150);
}

TEST(JsonLines, TellWhereValuesStand) {
  const auto lines = lines_of_values("{ // one\n \"a\": [1,\n  {\"b\": \"x\\\"y\"}],\n \"c\": 2}");
  EXPECT_EQ(lines.at(""), 1);
  EXPECT_EQ(lines.at("a"), 2);
  EXPECT_EQ(lines.at("a[1]"), 3);
  EXPECT_EQ(lines.at("a[1].b"), 3);
  EXPECT_EQ(lines.at("c"), 4);
}

TEST(JobFile, ARefusedPanelIsToldOnce) {
  const test::TemporaryFolder folder;
  test::write_whole(folder / "part-one.jpg", "1");
  test::write_whole(folder / "job.json",
                    R"({"panels": [{"name": "bench", "photos": ["part-one.jpg"]}, {"name": "gone", "tag": 9}]})");
  RunOptions options;
  add_json_input(folder / "job.json", options);
  options.out = folder / "out";
  NoProgress progress;
  const output::Results results = run_job(options, progress, test::fake_stages(std::make_shared<test::StageCounts>()));
  std::vector<std::string> told;
  for (const Fault& fault : output::all_faults(results))
    if (fault.severity == Severity::refusal) told.push_back(fault.code + " " + fault.panel);
  EXPECT_THAT(told, testing::UnorderedElementsAre("panel-cut-by-frame bench", "panel-not-found gone"));
}

TEST(JobPlan, NamesByTagThenByPhoto) {
  const JobFile job = read_job_file(helm_seats, "job.json", "");
  const std::vector<std::filesystem::path> photos{"photos/one.jpg", "photos/two.jpg", "photos/three.jpg"};
  const PanelNames names(photos);
  const JobPlan plan(job, photos, {{1, 7}, {}, {1}}, names);
  EXPECT_EQ(plan.place(0, 0, 1, 0).name, "cushion top");
  EXPECT_EQ(plan.place(2, 0, 1, 0).name, "cushion top-2");  // the same panel again
  EXPECT_EQ(plan.place(0, 1, 7, 0).name, "one-2");          // a tag that the job does not know
  EXPECT_EQ(plan.place(1, 0, std::nullopt, 0).name, "side right");
  EXPECT_EQ(plan.place(1, 1, std::nullopt, 1).name, "two-2");
  EXPECT_EQ(plan.thickness(0), 1.2);
  EXPECT_EQ(plan.thickness(1), 5);
  EXPECT_EQ(panel_of(job, "cushion top-2"), &job.panels[0]);
  EXPECT_EQ(panel_of(job, "cushion topper"), nullptr);
}

TEST(JobInputs, AMeasuredPanelIsToldFromAJobAndAJobIsTakenOnce) {
  const test::TemporaryFolder folder;
  test::write_whole(folder / "panel.json", "{\"schema\": \"chalkfold-panel-1\"}");
  test::write_whole(folder / "job.json", helm_seats);
  RunOptions options;
  add_json_input(folder / "panel.json", options);
  add_json_input(folder / "job.json", options);
  EXPECT_EQ(options.measured.size(), 1u);
  EXPECT_EQ(options.photos.size(), 2u);
  EXPECT_EQ(options.survey.print.long_bar_mm, 239.6);
  EXPECT_THROW(add_json_input(folder / "job.json", options), UsageError);
  EXPECT_THROW(add_json_input(folder / "none.json", options), FileError);
}

TEST(JobInputs, AFirstJobFileReadsBack) {
  output::Results results;
  for (const char* name : {"seat top", "seat top-2"}) {
    output::PanelRecord record;
    record.panel.name = name;
    record.panel.photo = "seat top.jpg";
    results.panels.push_back(record);
  }
  results.panels[0].panel.tag = 4;
  RunOptions options;
  options.photos = {"photos/seat top.jpg"};
  const JobFile job = read_job_file(first_job_file(results, options, ""), "job.json", "");
  ASSERT_EQ(job.panels.size(), 2u);
  EXPECT_EQ(job.panels[0].name, "seat top");
  EXPECT_EQ(job.panels[0].tag, 4);
  EXPECT_EQ(job.panels[1].photos, (std::vector<std::filesystem::path>{"photos/seat top.jpg"}));
}

TEST(JobFile, AHideAndAnOffcutAreMeasuredOnly) {
  const char* const bytes = R"json({"panels": [
    {"name": "side of leather", "kind": "hide", "photos": ["a.jpg", "b.jpg"], "side": "face", "thickness_mm": 1.4, "material": "brown"},
    {"name": "rest", "kind": "offcut", "tag": 7}, {"name": "top", "kind": "panel", "tag": 8}, {"name": "front", "tag": 9}]})json";
  EXPECT_EQ(test::complaints("job.schema.json", nlohmann::json::parse(bytes)), "");
  const JobFile job = read_job_file(bytes, "job.json", "");
  const std::vector<panel::PanelKind> kinds{panel::PanelKind::hide, panel::PanelKind::offcut, panel::PanelKind::panel,
                                            panel::PanelKind::panel};
  ASSERT_EQ(job.panels.size(), kinds.size());
  for (std::size_t i = 0; i < kinds.size(); ++i) EXPECT_EQ(job.panels[i].kind, kinds[i]) << i;
}

TEST(JobFile, WhatWouldDraftOrSewAHideIsAFault) {
  const std::vector<std::pair<const char*, const char*>> of_pieces{
      {"part", "\"cushion\""}, {"pair_of", "\"top\""},     {"grain_deg", "90"},     {"edge_allowances_mm", "{}"},
      {"symmetric", "\"no\""}, {"fold", "\"left\""},       {"allowance_mm", "10"},  {"existing_allowance_mm", "10"},
      {"quantity", "2"},       {"reference", "\"a.dxf\""}, {"compensate", "false"}, {"role", "\"side\""},
      {"fixed", "true"},       {"wear_percent", "1"}};
  for (const auto& [key, value] : of_pieces) {
    const std::string bytes = std::string(
                                  "{\"photos\": [\"a.jpg\"], \"panels\": [{\"name\": \"top\", \"tag\": 1},\n"
                                  "{\"name\": \"cow\", \"tag\": 2, \"kind\": \"hide\", \"") +
                              key + "\": " + value + "}]}";
    EXPECT_THAT(faults_of(bytes),
                HasSubstr(std::string("line 2: panels[1].") + key + ": a hide is measured and not drafted"));
    EXPECT_NE(test::complaints("job.schema.json", nlohmann::json::parse(bytes)), "") << key;
  }
  EXPECT_THAT(
      faults_of(
          R"({"photos": ["a.jpg"], "panels": [{"name": "a", "tag": 1, "pair_of": "b"}, {"name": "b", "tag": 2, "kind": "hide"}]})"),
      HasSubstr("panels[0].pair_of: \"b\" is not drafted"));
  EXPECT_THAT(
      faults_of(R"({"photos": ["a.jpg"], "panels": [{"name": "a", "tag": 1}, {"name": "b", "tag": 2, "kind": "offcut"}],
                            "seams": [{"a": "a/1", "b": "b/2"}]})"),
      HasSubstr("seams[0].b: \"b\" is of kind offcut: it is measured and not drafted, and has no edges to sew"));
  EXPECT_THAT(faults_of(R"({"photos": ["a.jpg"], "panels": [{"name": "a", "tag": 1, "kind": "skin"}]})"),
              HasSubstr("panels[0].kind: must be one of panel, hide, offcut"));
}

}  // namespace
}  // namespace chalkfold::job
