// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/draft_stage.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/common/error.h"
#include "pipeline/job/run_job.h"
#include "pipeline/output/json/panel_json.h"
#include "tests/common/run_program.h"
#include "tests/draft/flag_draft.h"
#include "tests/job/fake_stages.h"

namespace chalkfold::job {
namespace {

namespace fs = std::filesystem;
using testing::Contains;
using testing::HasSubstr;

class DraftStage : public testing::Test {
 protected:
  fs::path measured(const std::string& name, const panel::Panel& panel) {
    output::PanelRecord record;
    record.panel = panel;
    record.panel.name = name;
    const fs::path file = folder / (name + ".json");
    test::write_whole(file, output::panel_json(record));
    return file;
  }
  output::Results run(const fs::path& out) {
    options.out = out;
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

TEST_F(DraftStage, MeasuredPanelsAreDraftedWithoutTheirPhotos) {
  options.measured = {measured("flag", drawn::flag_panel())};
  const output::Results results = run(folder / "out");
  EXPECT_EQ(results.exit, 0);
  ASSERT_EQ(results.pieces.size(), 1u);
  EXPECT_EQ(results.pieces[0].piece.name, "flag");
  for (const char* file : {"pieces/flag.dxf", "pieces/flag.svg", "pieces/flag.pdf", "pieces/flag.json",
                           "cutter/flag.dxf", "set.dxf", "set.svg", "report.html", "results.json"})
    EXPECT_TRUE(fs::exists(folder / "out" / file)) << file;
  EXPECT_THAT(codes(results.faults), Contains("allowance-assumed"));
}

TEST_F(DraftStage, ChangedOptionsGiveNewPiecesFromTheSameFolder) {
  options.measured = {measured("flag", drawn::flag_panel())};
  const double before = run(folder / "out").pieces[0].piece.edges[0].allowance;
  options.draft.allowance = 15;
  options.existing_allowance = 10;
  const output::Results again = run(folder / "out");
  EXPECT_EQ(before, 10);
  EXPECT_EQ(again.pieces[0].piece.edges[0].allowance, 15);
  EXPECT_THAT(codes(again.faults), testing::Not(Contains("allowance-assumed")));
  EXPECT_THAT(codes(again.faults), testing::Not(Contains("older-files")));
}

TEST_F(DraftStage, NamesThatAreTakenGetANumber) {
  options.measured = {measured("flag", drawn::flag_panel()), measured("Flag", drawn::flag_panel())};
  const output::Results results = run(folder / "out");
  ASSERT_EQ(results.pieces.size(), 2u);
  EXPECT_EQ(results.pieces[1].piece.name, "Flag-2");
  EXPECT_EQ(results.pieces[1].piece.number, 2);
}

TEST_F(DraftStage, AFileThatIsMissingOrCutShortStopsTheRunBeforeAnythingIsWritten) {
  options.measured = {folder / "none.json"};
  EXPECT_THROW(run(folder / "out"), FileError);
  EXPECT_FALSE(fs::exists(folder / "out"));
  const fs::path whole = measured("flag", drawn::flag_panel());
  test::write_whole(folder / "half.json", test::read_whole(whole).substr(0, 2000));
  options.measured = {folder / "half.json"};
  try {
    run(folder / "out");
    FAIL() << "no error";
  } catch (const FileError& e) {
    EXPECT_THAT(e.what(), HasSubstr("half.json"));
  }
  EXPECT_FALSE(fs::exists(folder / "out"));
}

TEST_F(DraftStage, ARefusedPieceHasNoFilesAndTheOthersGoOn) {
  panel::Panel strip = drawn::flag_panel();
  strip.outline = drawn::measured(drawn::rectangle(300, 16), 0.05);
  strip.marks = {};
  options.measured = {measured("strip", strip), measured("flag", drawn::flag_panel())};
  const output::Results results = run(folder / "out");
  EXPECT_EQ(results.exit, 1);
  EXPECT_TRUE(results.pieces[0].files.empty());
  EXPECT_FALSE(fs::exists(folder / "out/pieces/strip.dxf"));
  EXPECT_TRUE(fs::exists(folder / "out/pieces/flag.dxf"));
}

TEST_F(DraftStage, PanelsOfAPairGiveMirrorImages) {
  panel::Panel right = drawn::flag_panel(0.05, 9);
  for (Vec2& p : right.outline.points) p.x() = 800 - p.x();
  std::reverse(right.outline.points.begin(), right.outline.points.end());
  right.marks = {};
  options.measured = {measured("left", drawn::flag_panel()), measured("right", right),
                      measured("third", drawn::flag_panel())};
  options.pairs = {{"left", "right", {}}};
  const output::Results results = run(folder / "out");
  ASSERT_EQ(results.pieces.size(), 3u);
  const Polyline &a = results.pieces[0].piece.cut_line, &b = results.pieces[1].piece.cut_line;
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i)
    EXPECT_LT((Vec2(-1, 1).cwiseProduct(a[i]) - b[b.size() - 1 - i]).norm(), 1e-6);
  EXPECT_EQ(results.pieces[1].piece.name, "right");
  EXPECT_EQ(results.pieces[1].piece.number, 2);
  EXPECT_FALSE(results.pieces[2].piece.pairing.done);
  options.pairs = {{"left", "rihgt", {}}};
  try {
    run(folder / "out");
    FAIL() << "no error";
  } catch (const UsageError& e) {
    EXPECT_THAT(e.what(), HasSubstr("did you mean right?"));
  }
}

TEST_F(DraftStage, APhotosPanelAndItsMeasuredJsonGiveThePiece) {
  const auto counts = std::make_shared<test::StageCounts>();
  test::write_whole(folder / "a.jpg", "a");
  RunOptions from_photo;
  from_photo.photos = {folder / "a.jpg"};
  from_photo.out = folder / "photo";
  run_job(from_photo, progress, test::fake_stages(counts));
  options.measured = {folder / "photo/measured/a.json"};
  run(folder / "again");
  // The measured file has its numbers to a ten-thousandth of a millimetre and the panel's own origin: same shape.
  const auto area = [](const fs::path& out) {
    return nlohmann::json::parse(test::read_whole(out / "results.json"))["pieces"][0]["cut_area"].get<double>();
  };
  EXPECT_NEAR(area(folder / "photo"), area(folder / "again"), 0.5);  // mm2
}

}  // namespace
}  // namespace chalkfold::job
