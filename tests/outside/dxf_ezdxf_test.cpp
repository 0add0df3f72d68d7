// SPDX-License-Identifier: Apache-2.0
// Our DXF read by ezdxf: its auditor finds no error, and the vertices come back within 0.001 mm (the bound stands in
// check_dxf.py).
#include "pipeline/output/drawing/dxf.h"

#include <gtest/gtest.h>

#include "pipeline/output/json/panel_json.h"
#include "tests/common/run_program.h"
#include "tests/output/marked_flag.h"
#include "tests/outside/wavy_panel.h"

namespace chalkfold {

namespace {
test::ProgramRun check(const std::string& dxf, const panel::Panel& panel) {
  const test::TemporaryFolder folder;
  output::PanelRecord record;
  record.panel = panel;
  test::write_whole(folder / "panel.dxf", dxf);
  test::write_whole(folder / "panel.json", output::panel_json(record));
  return test::run_program({CHALKFOLD_PYTHON, std::string(CHALKFOLD_SOURCE_DIR) + "/tests/outside/check_dxf.py",
                            (folder / "panel.dxf").string(), (folder / "panel.json").string()});
}

void expect_good(const panel::Panel& panel) {
  const test::ProgramRun run = check(output::dxf_of(panel), panel);
  EXPECT_EQ(run.exit, 0) << run.out << run.err;
}
}  // namespace

TEST(DxfByEzdxf, Flag) { expect_good(test::flag_panel()); }
TEST(DxfByEzdxf, MarksOfEveryKind) { expect_good(test::marked_flag().panel); }
TEST(DxfByEzdxf, ManyPoints) { expect_good(test::wavy_panel("seat top")); }
TEST(DxfByEzdxf, NamesOfManyScripts) {
  expect_good(
      test::flag_panel("R\xC3\xBC"
                       "cken \xE5\xBA\xA7 100 %%d \\U+0041 ^J \"left\" <1>"));
}

TEST(DxfByEzdxf, TheCheckSeesAMirroredOutline) {
  const panel::Panel panel = test::flag_panel();
  panel::Panel mirrored = panel;
  for (Vec2& p : mirrored.outline.points) p.x() = -p.x();
  const test::ProgramRun run = check(output::dxf_of(mirrored), panel);
  EXPECT_EQ(run.exit, 1) << run.out << run.err;
}

}  // namespace chalkfold
