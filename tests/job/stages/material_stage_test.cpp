// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/material_stage.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/common/error.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/job/run_job.h"
#include "pipeline/job/stages/sewing_stage.h"
#include "pipeline/output/json/panel_json.h"
#include "tests/common/run_program.h"
#include "tests/draft/sewn_set.h"
#include "tests/output/ringed_flag.h"
#include "tests/output/schema_check.h"

namespace chalkfold::job {
namespace {
namespace fs = std::filesystem;
using testing::Contains;
using testing::HasSubstr;
using testing::Not;

std::vector<std::string> codes(const Faults& faults) {
  std::vector<std::string> found;
  for (const Fault& fault : faults) found.push_back(fault.code);
  return found;
}

/// Three panels that were measured before, of a job that knows their materials.
class SetOfASeat : public testing::Test {
 protected:
  SetOfASeat() {
    options.out = folder / "out";
    options.job = JobFile{};
    options.job->defaults.existing_allowance = 0;
    options.job->defaults.allowance = 10;
    for (const drawn::Design& design : drawn::sewn_designs()) {
      output::PanelRecord record;
      record.panel = drawn::worn_panel(design);
      record.panel.thickness = 1.5;
      options.measured.push_back(folder / (design.name + ".json"));
      test::write_whole(options.measured.back(), output::panel_json(record));
      JobPanel panel;
      panel.name = design.name;
      panel.own.material = "blue cloth";
      options.job->panels.push_back(panel);
    }
    options.job->materials["blue cloth"].kind = draft::MaterialKind::artificial_leather;
  }
  output::Results run() { return run_job(options, progress); }

  test::TemporaryFolder folder;
  RunOptions options;
  NoProgress progress;
};

TEST_F(SetOfASeat, HasItsMaterialInResultsReportAndAPicture) {
  const output::Results results = run();
  ASSERT_EQ(results.materials.size(), 1u);
  EXPECT_EQ(results.materials[0].picture, "layout/blue cloth.svg");
  EXPECT_TRUE(fs::exists(options.out / "layout" / "blue cloth.svg"));
  EXPECT_THAT(test::read_whole(options.out / "report.html"), HasSubstr("blue cloth, artificial leather"));
  const auto json = nlohmann::json::parse(test::read_whole(options.out / "results.json"));
  EXPECT_EQ(test::complaints("results.schema.json", json), "");
  EXPECT_EQ(json["material"][0]["pieces"].size(), 3u);
  EXPECT_EQ(json["material"][0]["roll"]["copies"][2]["placed"], true);
}

TEST_F(SetOfASeat, IsTheSameEachTime) {
  run();
  const std::string first = test::read_whole(options.out / "layout" / "blue cloth.svg");
  run();
  EXPECT_EQ(test::read_whole(options.out / "layout" / "blue cloth.svg"), first);
}

TEST_F(SetOfASeat, MaterialsOfNearlyOneNameHaveAPictureEach) {
  options.job->panels[1].own.material = "Blue Cloth";
  options.job->panels[2].own.material = "blue/cloth";
  const output::Results results = run();
  ASSERT_EQ(results.materials.size(), 3u);
  std::set<std::string> pictures;
  for (const output::MaterialRecord& record : results.materials) {
    pictures.insert(record.picture);
    EXPECT_TRUE(fs::exists(options.out / record.picture)) << record.picture;
  }
  EXPECT_EQ(pictures.size(), 3u);
}

TEST_F(SetOfASeat, TellsOfAMaterialThatIsMissingOrUnused) {
  options.job->panels[1].own.material.reset();
  options.job->materials["blue cloht"].kind = draft::MaterialKind::woven;
  const output::Results results = run();
  EXPECT_THAT(codes(results.faults), Contains("material-not-given"));
  ASSERT_THAT(codes(results.faults), Contains("material-not-used"));
  for (const Fault& fault : results.faults) {
    if (fault.code == "material-not-given") {
      EXPECT_THAT(fault.seen, HasSubstr("front"));
    }
    if (fault.code == "material-not-used") {
      EXPECT_THAT(fault.seen, HasSubstr("there is \"blue cloth\""));
    }
  }
}

TEST_F(SetOfASeat, WithoutMaterialsSaysNothingOfThem) {
  options.job->materials.clear();
  for (JobPanel& panel : options.job->panels) panel.own.material.reset();
  const output::Results results = run();
  EXPECT_TRUE(results.materials.empty());
  EXPECT_FALSE(fs::exists(options.out / "layout"));
  EXPECT_THAT(codes(results.faults), Not(Contains("material-not-given")));
}

TEST_F(SetOfASeat, APictureOfAnotherRunIsToldOf) {
  run();
  for (JobPanel& panel : options.job->panels) panel.own.material = "red cloth";
  options.job->materials.clear();
  EXPECT_THAT(codes(run().faults), Contains("older-files"));
}

TEST_F(SetOfASeat, HasASewingSheetOfItsSeams) {
  options.job->panels[0].role = draft::PieceRole::centre;
  options.job->panels[1].part = "side";
  options.job->panels[2].part = "side";
  options.job->stitch.stitch = 5;
  output::Results results = run();
  std::vector<draft::Piece> pieces;
  for (const output::PieceRecord& record : results.pieces) pieces.push_back(record.piece);
  std::vector<draft::SeamReport> seams;
  for (const draft::SeamAsked& seam : drawn::sewn_seams()) seams.push_back(draft::compare_sides(seam, pieces));
  write_sewing_sheet(options, seams, results);
  ASSERT_TRUE(results.sewing);
  EXPECT_TRUE(fs::exists(options.out / "sewing.pdf"));
  const draft::SewingSheet& sheet = results.sewing->sheet;
  ASSERT_EQ(sheet.steps.size(), 3u);
  EXPECT_EQ(sheet.steps[0].group, draft::SewingGroup::sides);  // seam 3, of the two sides
  EXPECT_EQ(sheet.steps[1].group, draft::SewingGroup::sides_to_centre);
  EXPECT_NEAR(sheet.steps[0].thickness, 3, 1e-9);  // two panels of 1.5 mm
  EXPECT_NEAR(sheet.steps[0].thread.total(), sheet.steps[0].length * (2 + 2 * 3 / 5.0) * 1.15, 1e-6);
  EXPECT_EQ(test::complaints("results.schema.json", nlohmann::json::parse(output::results_json(results))), "");
}

TEST_F(SetOfASeat, HasNoSewingSheetWithoutSeamsOfTheJob) {
  output::Results results = run();
  write_sewing_sheet(options, {}, results);
  draft::SeamReport proposal;
  proposal.proposed = true;
  write_sewing_sheet(options, {proposal}, results);
  EXPECT_FALSE(results.sewing);
  EXPECT_FALSE(fs::exists(options.out / "sewing.pdf"));
}

TEST_F(SetOfASeat, MaterialIsThatOfTheAdjustedPieces) {
  output::Results results = run();
  results.materials.clear();
  results.set.emplace();
  draft::Piece larger = results.pieces[0].piece;
  for (Polyline* line : {&larger.cut_line, &larger.sew_line})
    for (Vec2& p : *line) p *= 1.1;
  results.set->adjusted = {{larger, {}, {}}};
  const double before = geometry::signed_area(results.pieces[0].piece.cut_line);
  plan_material(options, results);
  EXPECT_NEAR(results.materials[0].need.pieces[0].cut, 1.21 * before, 1e-6 * before);
}

/// A hide of an earlier run beside the set, of this material.
void add_hide(RunOptions& options, const fs::path& file, const std::string& material) {
  output::PanelRecord record;
  record.panel = test::ringed_flag("brown hide");
  test::write_whole(file, output::panel_json(record));
  options.measured.push_back(file);
  JobPanel panel;
  panel.name = "brown hide";
  panel.kind = panel::PanelKind::hide;
  if (!material.empty()) panel.own.material = material;
  options.job->panels.push_back(panel);
}

TEST_F(SetOfASeat, AHideIsNotDraftedButComparedWithTheSet) {
  add_hide(options, folder / "hide.json", "blue cloth");
  const output::Results results = run();
  EXPECT_EQ(results.panels.size(), 4u);
  EXPECT_EQ(results.pieces.size(), 3u);
  EXPECT_FALSE(fs::exists(options.out / "pieces" / "brown hide.dxf"));
  ASSERT_EQ(results.materials.size(), 1u);
  ASSERT_EQ(results.materials[0].measured, std::vector<std::size_t>{3});
  const output::MeasuredStock stock = output::measured_stock(results.materials[0], results);
  EXPECT_NEAR(stock.usable, test::ringed_flag_usable, 0.1);
  EXPECT_NEAR(stock.needed, results.materials[0].need.cut_area / 0.65, 0.1);
  const auto json = nlohmann::json::parse(test::read_whole(options.out / "results.json"));
  EXPECT_EQ(test::complaints("results.schema.json", json), "");
  EXPECT_EQ(json["panels"][3]["kind"], "hide");
  EXPECT_EQ(json["panels"][3]["flaws"].size(), 2u);
  EXPECT_EQ(json["material"][0]["measured"]["enough_by_area"], false);
  ASSERT_TRUE(results.set);
  for (const draft::SeamReport& seam : results.set->report.proposals)
    for (const std::string& piece : {seam.asked.a.piece, seam.asked.b.piece}) EXPECT_NE(piece, "brown hide");
}

TEST_F(SetOfASeat, AHideOfAnotherMaterialIsTold) {
  add_hide(options, folder / "hide.json", "red cloth");
  EXPECT_THAT(codes(run().faults), Contains("hide-not-compared"));
}

TEST_F(SetOfASeat, AHideOfNoMaterialIsOfTheOnlyOneThereIs) {
  add_hide(options, folder / "hide.json", "");
  const output::Results results = run();
  EXPECT_THAT(codes(results.faults), Not(Contains("hide-not-compared")));
  EXPECT_EQ(results.materials[0].measured.size(), 1u);
}

TEST_F(SetOfASeat, APanelMeasuredBeforeThatTheJobCallsAHideIsTold) {
  options.job->panels[2].kind = panel::PanelKind::hide;
  const output::Results results = run();
  EXPECT_EQ(results.pieces.size(), 2u);
  EXPECT_THAT(codes(results.panels[2].panel.faults), Contains("flaws-not-looked-for"));
}

}  // namespace
}  // namespace chalkfold::job
