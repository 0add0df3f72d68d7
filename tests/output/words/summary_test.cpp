// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/words/summary.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/output/flag_panel.h"
#include "tests/output/ringed_flag.h"

namespace chalkfold::output {

using testing::HasSubstr;

TEST(Summary, NamesPanelsFaultsRemediesAndTheReport) {
  const std::string text = summary_text(test::sample_results(), "out/report.html");
  EXPECT_THAT(text, HasSubstr("1 panel measured in 2 photos\n"));
  EXPECT_THAT(text, HasSubstr("200.0 x 120.0 mm   area 234.8 cm2   U 0.25 mm (worst 0.25)\n"));
  EXPECT_THAT(text, HasSubstr("dark.jpg is no picture\n    what to do: Copy it again.\n"));
  EXPECT_TRUE(text.ends_with("\nopen out/report.html\n"));
  EXPECT_LT(text.find("REFUSED"), text.find("warning:")) << "the worst comes first";
}

TEST(Summary, CannotSteerTheTerminal) {
  const std::string text = summary_text(test::sample_results(), "out/report.html");
  for (const char c : text) EXPECT_TRUE(c == '\n' || static_cast<unsigned char>(c) >= 0x20);
}

TEST(Summary, ARefusedPanelShowsNoNumbers) {
  Results results = test::sample_results();
  results.panels[0].panel.faults = {{"panel-cut-by-frame", Severity::refusal, "seen", "remedy", {}, "flag"}};
  const std::string text = summary_text(results, "r");
  EXPECT_THAT(text, HasSubstr("0 panels measured"));
  EXPECT_THAT(text, HasSubstr("refused, see below"));
  EXPECT_THAT(text, testing::Not(HasSubstr("cm2")));
}

TEST(Summary, AHideTellsWhatOfItCanBeUsed) {
  Results results = test::sample_results();
  EXPECT_THAT(summary_text(results, "r"), testing::Not(HasSubstr("usable")));
  results.panels[0].panel = test::ringed_flag();
  EXPECT_THAT(summary_text(results, "r"),
              HasSubstr("   hide, usable 0.0207 m2 (2 flaws and 1 hole taken off), U at the most 0.0003 m2\n"));
}

}  // namespace chalkfold::output
