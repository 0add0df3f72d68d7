// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/report/report_seams.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/draft/set/seam_proposals.h"
#include "tests/draft/sewn_set.h"

namespace chalkfold::output {
namespace {
using namespace drawn;
using testing::HasSubstr;
using testing::Not;

Results with_set(const draft::SetReport& report, const std::vector<draft::Piece>& pieces) {
  Results results;
  results.set.emplace();
  results.set->report = report;
  results.set->wear = 0.01;
  for (const draft::Piece& piece : pieces)
    results.set->adjusted.push_back({piece, {"adjusted/" + piece.name + ".svg"}, "pictures/" + piece.name + ".svg"});
  return results;
}

TEST(ReportSeams, NothingIsSaidWithoutASet) {
  EXPECT_EQ(seams_html({}), "");
  EXPECT_EQ(seams_html(with_set({}, {})), "");
}

TEST(ReportSeams, SeamsStandBeforeAndAfterWithTheirMoves) {
  std::vector<draft::SeamAsked> seams = sewn_seams();
  seams[0].ease = -4;
  const draft::AdjustedSet set = draft::adjust_set(exact_set(), seams);
  ASSERT_TRUE(set.report.adjusted);
  const std::string html = seams_html(with_set(set.report, set.pieces));
  EXPECT_THAT(html, HasSubstr("<td>cushion top/1</td><td>front/3</td>"));
  EXPECT_THAT(html, HasSubstr("<b>does not meet</b>"));
  EXPECT_THAT(html, HasSubstr("<td>eased</td>"));
  EXPECT_THAT(html, HasSubstr("<td class=\"n\">-4.00</td>"));
  EXPECT_THAT(html, HasSubstr("mark 1 of a, mark 2 of b"));
  EXPECT_THAT(html, HasSubstr("b runs clockwise, as the match marks tell."));
  EXPECT_THAT(html, HasSubstr("wear of 1 %"));
  EXPECT_THAT(html, HasSubstr("front/2 ("));
}

TEST(ReportSeams, WhyThereWasNoAdjustmentIsSaid) {
  draft::SetReport report = draft::report_set(exact_set(), sewn_seams());
  report.reason = "a <seam> is unlikely";
  const std::string html = seams_html(with_set(report, {}));
  EXPECT_THAT(html, HasSubstr("not adjusted to each other: a &lt;seam&gt; is unlikely."));
  EXPECT_THAT(html, Not(HasSubstr("a adjusted")));
}

TEST(ReportSeams, ProposalsAreToldAsSuch) {
  draft::SetReport report = draft::report_set(exact_set(), {});
  report.proposals = draft::propose_seams({}, exact_set());
  const std::string html = seams_html(with_set(report, {}));
  EXPECT_THAT(html, HasSubstr("Seams that may be meant"));
  EXPECT_THAT(html, HasSubstr("nothing is adjusted to them"));
  EXPECT_THAT(html, Not(HasSubstr("No seam of the job takes")));
}

}  // namespace
}  // namespace chalkfold::output
