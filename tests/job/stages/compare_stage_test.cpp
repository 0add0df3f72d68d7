// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/compare_stage.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "pipeline/common/error.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/job/run_job.h"
#include "pipeline/output/json/panel_json.h"
#include "pipeline/output/json/piece_json.h"
#include "tests/common/run_program.h"
#include "tests/draft/flag_draft.h"
#include "tests/job/fake_stages.h"
#include "tests/output/schema_check.h"

namespace chalkfold::job {
namespace {

namespace fs = std::filesystem;
using testing::Contains;
using testing::HasSubstr;
using testing::Not;

/// A rectangle with one corner cut off, 582 mm along x where the reference has 600, of noise 0.02 mm.
class CompareStage : public testing::Test {
 protected:
  static panel::Panel shrunk(double length) {
    panel::Panel panel;
    panel.name = "pad";
    panel.photo = "pad.jpg";
    panel.outline =
        drawn::measured(drawn::polygon({{0, 0}, {length, 0}, {length, 450}, {0.2 * length, 450}, {0, 300}}), 0.02);
    panel.U_median = 0.1;
    return panel;
  }
  fs::path written(const std::string& name, panel::Panel panel) {
    panel.name = name;
    output::PanelRecord record;
    record.panel = std::move(panel);
    const fs::path file = folder / (name + ".json");
    test::write_whole(file, output::panel_json(record));
    return file;
  }
  JobPanel& asked() {
    if (!options.job) options.job.emplace();
    if (options.job->panels.empty()) options.job->panels.push_back({});
    JobPanel& panel = options.job->panels.front();
    panel.name = "pad";
    panel.grain_deg = 0;
    panel.own.existing_allowance = 0;
    panel.own.allowance = 0;
    panel.own.symmetric = draft::Symmetric::no;
    return panel;
  }
  output::Results run(const std::vector<fs::path>& more = {}) {
    options.measured = {written("pad", shrunk(582))};
    options.measured.insert(options.measured.end(), more.begin(), more.end());
    options.out = folder / "out";
    return run_job(options, progress);
  }
  static std::vector<std::string> codes(const Faults& faults) {
    std::vector<std::string> found;
    for (const Fault& fault : faults) found.push_back(fault.code);
    return found;
  }

  test::TemporaryFolder folder;
  RunOptions options;
  NoProgress progress;
};

TEST_F(CompareStage, APanelIsComparedWithTheFileThatTheJobNames) {
  asked().reference = JobReference{written("new", shrunk(600)), {}};
  const output::Results results = run();
  ASSERT_TRUE(results.panels[0].change);
  EXPECT_NEAR(results.panels[0].change->along.percent, -3, 0.02);  // percent: noise of 0.02 mm
  EXPECT_NEAR(results.panels[0].change->across.percent, 0, 0.02);
  EXPECT_TRUE(fs::exists(folder / "out" / results.panels[0].change_picture));
  const auto json = nlohmann::json::parse(test::read_whole(folder / "out/results.json"));
  EXPECT_EQ(test::complaints("results.schema.json", json), "");
  EXPECT_NEAR(json["panels"][0]["dimensional_change"]["along"]["percent"].get<double>(), -3, 0.02);
  EXPECT_THAT(test::read_whole(folder / "out/report.html"), HasSubstr("Dimensional change against new"));
  EXPECT_THAT(codes(results.pieces[0].piece.faults), Not(Contains("compensated")));
}

TEST_F(CompareStage, CompensateCutsThePieceSoThatItComesOutRight) {
  asked().reference = JobReference{{}, {{600, 450}}};
  asked().compensate = true;
  const output::Results results = run();
  EXPECT_EQ(results.exit, 0);
  const draft::Piece piece = output::read_piece_text(test::read_whole(folder / "out/pieces/pad.json"), "pad.json");
  const Vec2 size = geometry::bounding_box(piece.cut_line).size();
  EXPECT_NEAR(size.x(), 600, 0.15);  // mm: 582 measured, corners found in noise
  EXPECT_NEAR(size.y(), 450, 0.15);
  EXPECT_THAT(codes(piece.faults), Contains("compensated"));
}

TEST_F(CompareStage, ThePairsSecondPieceIsScaledAlongItsOwnPanelsGrain) {
  constexpr double turned_deg = 30;
  panel::Panel other = shrunk(582);
  std::reverse(other.outline.points.begin(), other.outline.points.end());
  for (Vec2& p : other.outline.points) p = geometry::Rigid2{turned_deg * M_PI / 180, {40, -70}} * Vec2(-p.x(), p.y());
  asked();
  options.job->panels.push_back(asked());
  options.job->panels.front().pair_of = "pad right";
  JobPanel& second = options.job->panels.back();
  second.name = "pad right";
  second.grain_deg = turned_deg;
  second.reference = JobReference{{}, {{600, 450}}};
  second.compensate = true;
  const output::Results results = run({written("pad right", other)});
  EXPECT_EQ(results.exit, 0);
  const draft::Piece piece =
      output::read_piece_text(test::read_whole(folder / "out/pieces/pad right.json"), "pad right.json");
  const Vec2 size = geometry::bounding_box(piece.cut_line).size();  // as the first panel lay, its length along x
  EXPECT_NEAR(size.x(), 600, 0.3);  // mm: 582 measured twice, corners found in noise, the mean of two
  EXPECT_NEAR(size.y(), 450, 0.3);
}

TEST_F(CompareStage, WithoutAReferenceNothingIsCompared) {
  asked();
  const output::Results results = run();
  EXPECT_FALSE(results.panels[0].change);
  EXPECT_FALSE(
      nlohmann::json::parse(test::read_whole(folder / "out/results.json"))["panels"][0].contains("dimensional_change"));
}

TEST_F(CompareStage, AMirroredReferenceIsAWarningAndThePieceStaysAsMeasured) {
  panel::Panel mirrored = shrunk(600);
  for (Vec2& p : mirrored.outline.points) p.x() = -p.x();
  std::reverse(mirrored.outline.points.begin(), mirrored.outline.points.end());
  asked().reference = JobReference{written("other", mirrored), {}};
  asked().compensate = true;
  const output::Results results = run();
  EXPECT_EQ(results.exit, 0);
  EXPECT_THAT(codes(results.faults), Contains("not-compared"));
  EXPECT_THAT(codes(results.pieces[0].piece.faults), Contains("not-compensated"));
  EXPECT_EQ(
      test::complaints("results.schema.json", nlohmann::json::parse(test::read_whole(folder / "out/results.json"))),
      "");
}

TEST_F(CompareStage, APieceOfTheOtherSideIsMirroredBySideOfTheJob) {
  asked().own.side = draft::Side::face;
  run();
  const fs::path face = folder / "face.json";
  fs::copy_file(folder / "out/pieces/pad.json", face);
  panel::Panel inside = shrunk(582);
  for (Vec2& p : inside.outline.points) p.x() = -p.x();
  std::reverse(inside.outline.points.begin(), inside.outline.points.end());
  written("pad", inside);
  asked().own.side = draft::Side::inside;
  asked().reference = JobReference{face, {}};
  options.measured = {folder / "pad.json"};
  const output::Results results = run_job(options, progress);
  ASSERT_TRUE(results.panels[0].change);
  EXPECT_TRUE(results.panels[0].change->reference_mirrored);
  EXPECT_TRUE(results.panels[0].change->done);
  EXPECT_THAT(codes(results.faults), Not(Contains("not-compared")));
}

TEST_F(CompareStage, AMissingReferenceIsHeardOfBeforeTheWork) {
  asked().reference = JobReference{folder / "no-such.dxf", {}};
  EXPECT_THROW(run(), FileError);
  EXPECT_FALSE(fs::exists(folder / "out"));
}

TEST(JobFileReference, TakesAFileOrASize) {
  const JobFile job = read_job_file(R"({"photos": ["a.jpg"], "panels": [
    {"name": "a", "tag": 1, "reference": "new/a.dxf", "compensate": true},
    {"name": "b", "tag": 2, "reference": {"length_mm": 600, "width_mm": 450}}]})",
                                    "job.json", "jobs");
  EXPECT_EQ(job.panels[0].reference->file, fs::path("jobs/new/a.dxf"));
  EXPECT_TRUE(job.panels[0].compensate);
  EXPECT_EQ((*job.panels[1].reference->size)[1], 450);
  EXPECT_FALSE(job.panels[1].compensate);
}

TEST(JobFileReference, FaultsAreNamed) {
  const auto faults = [](const std::string& panel) {
    try {
      read_job_file(R"({"photos": ["a.jpg"], "panels": [{"name": "a", "tag": 1, )" + panel + "}]}", "job.json", "jobs");
    } catch (const UsageError& e) {
      return std::string(e.what());
    }
    return std::string();
  };
  EXPECT_THAT(faults(R"("reference": 600)"), HasSubstr("panels[0].reference"));
  EXPECT_THAT(faults(R"("reference": {"length_mm": 600})"), HasSubstr("needs both"));
  EXPECT_THAT(faults(R"("reference": {"length": 600, "width_mm": 3})"), HasSubstr("did you mean length_mm"));
  EXPECT_THAT(faults(R"("compensate": true)"), HasSubstr("needs a reference"));
  EXPECT_THAT(faults(R"("reference": "a.dxf", "compensate": 1)"), HasSubstr("true or false"));
}

}  // namespace
}  // namespace chalkfold::job
