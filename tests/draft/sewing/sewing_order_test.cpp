// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/sewing/sewing_order.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/draft/drawn_shapes.h"

namespace chalkfold::draft {
namespace {
using testing::ElementsAre;

Piece piece(const std::string& name, const std::string& part, std::vector<double> allowances = {10, 10, 10, 10}) {
  Piece out;
  out.name = name;
  out.part = part;
  for (std::size_t i = 0; i < allowances.size(); ++i) {
    PieceEdge edge;
    edge.number = static_cast<int>(i) + 1;
    edge.allowance = allowances[i];
    edge.sew = {drawn::line({100.0 * static_cast<double>(i), 0}, {100.0 * static_cast<double>(i + 1), 0})};
    out.edges.push_back(edge);
  }
  return out;
}

SeamReport seam(int number, const std::string& a, const std::string& b, double length = 400) {
  SeamReport report;
  report.asked.number = number;
  report.asked.a.piece = a;
  report.asked.b.piece = b;
  report.a.length = length;
  report.b.length = length - 1;
  return report;
}

std::vector<int> numbers(const SewingSheet& sheet, const std::vector<SeamReport>& seams) {
  std::vector<int> out;
  for (const SewingStep& step : sheet.steps) out.push_back(seams[step.seam].asked.number);
  return out;
}

const std::vector<Piece> cover = {piece("top", "centre front"), piece("back", "Center back"),
                                  piece("left", "side left"), piece("left low", "bolster"),
                                  piece("edge", "edge strip")};

TEST(SewingOrder, CentreSidesSidesToCentreClosingStrips) {
  std::vector<SeamReport> seams = {seam(1, "edge", "top"), seam(2, "left", "top"), seam(3, "left", "back"),
                                   seam(4, "left", "left low"), seam(5, "top", "back")};
  seams[2].asked.group = SewingGroup::closing;
  const SewingSheet sheet = sewing_sheet(seams, cover);
  EXPECT_THAT(numbers(sheet, seams), ElementsAre(5, 4, 2, 3, 1));
  EXPECT_EQ(sheet.steps[0].group, SewingGroup::centre);
  EXPECT_EQ(sheet.steps[3].group_by, SewingStep::By::job);
  EXPECT_EQ(sheet.steps[3].fit, SewingStep::Fit::customary);  // before it is closed
  EXPECT_EQ(sheet.steps[4].fit, SewingStep::Fit::no);
  EXPECT_TRUE(sheet.faults.empty());
}

TEST(SewingOrder, SeamsGivenAPlaceStandThere) {
  std::vector<SeamReport> seams = {seam(1, "edge", "top"), seam(2, "left", "top"), seam(3, "left", "back"),
                                   seam(4, "left", "left low"), seam(5, "top", "back")};
  seams[0].asked.order = 1;
  seams[4].asked.order = 3;
  EXPECT_THAT(numbers(sewing_sheet(seams, cover), seams), ElementsAre(1, 4, 5, 2, 3));
  seams[1].asked.order = 1;  // taken: the next
  EXPECT_THAT(numbers(sewing_sheet(seams, cover), seams), ElementsAre(1, 2, 5, 4, 3));
  seams[1].asked.order = 40;  // beyond the end: last
  EXPECT_THAT(numbers(sewing_sheet(seams, cover), seams), ElementsAre(1, 4, 5, 3, 2));
}

TEST(SewingOrder, NoRoleIsGuessed) {
  const std::vector<Piece> pieces = {piece("top", "centre"), piece("left", "side"), piece("flap", "left of it")};
  std::vector<SeamReport> seams = {seam(1, "flap", "top"), seam(2, "left", "top"), seam(3, "left", "left")};
  seams[2].asked.group = SewingGroup::closing;
  const SewingSheet sheet = sewing_sheet(seams, pieces);
  EXPECT_THAT(numbers(sheet, seams), ElementsAre(2, 1, 3));
  EXPECT_FALSE(sheet.steps[1].group);
  ASSERT_EQ(sheet.faults.size(), 1u);
  EXPECT_EQ(sheet.faults[0].code, "role-not-known");
  EXPECT_THAT(sheet.faults[0].seen, testing::HasSubstr("\"flap\""));
  EXPECT_THAT(sheet.faults[0].seen, testing::Not(testing::HasSubstr("\"top\"")));
  SewingOptions options;
  options.roles["flap"] = PieceRole::centre;
  EXPECT_THAT(numbers(sewing_sheet(seams, pieces, options), seams), ElementsAre(1, 2, 3));
  EXPECT_TRUE(sewing_sheet(seams, pieces, options).faults.empty());
}

TEST(SewingOrder, ProposedSeamsAreNotSewn) {
  std::vector<SeamReport> seams = {seam(1, "top", "back"), seam(2, "left", "top")};
  seams[1].proposed = true;
  EXPECT_THAT(numbers(sewing_sheet(seams, cover), seams), ElementsAre(1));
}

TEST(SewingOrder, ThreadIsOfTheLongerSideAndBothThicknesses) {
  SewingOptions options;
  options.thicknesses["top"] = 2;
  options.thickness = 1;  // of the back
  const std::vector<SeamReport> seams = {seam(1, "top", "back", 1000), seam(2, "top", "back", 500)};
  const SewingSheet sheet = sewing_sheet(seams, cover, options);
  EXPECT_NEAR(sheet.steps[0].thickness, 3, 1e-12);
  EXPECT_NEAR(sheet.steps[0].thread.total(), 3500 * 1.15, 1e-9);  // stitch 4 mm
  EXPECT_NEAR(sheet.thread.total(), 1.5 * 3500 * 1.15, 1e-9);
  EXPECT_NEAR(sheet.seam_length, 1500, 1e-9);
}

TEST(SewingOrder, StitchDistanceIsTheAllowanceOfEveryEdgeOfTheRun) {
  const std::vector<Piece> pieces = {piece("a", "centre", {8, 10, 12, 15}), piece("b", "centre", {5})};
  std::vector<SeamReport> seams = {seam(1, "a", "b")};
  seams[0].asked.a.first_edge = 4;
  seams[0].asked.a.last_edge = 2;
  const SewingSheet sheet = sewing_sheet(seams, pieces);
  EXPECT_THAT(sheet.steps[0].allowances_a, ElementsAre(15, 8, 10));
  EXPECT_THAT(sheet.steps[0].allowances_b, ElementsAre(5));
}

TEST(SewingOrder, OfAMirroredPieceTheRunIsTravelledCounterClockwiseAsWell) {
  const std::vector<Piece> pieces = {mirror_image(piece("a", "centre", {8, 10, 12, 15}))};
  std::vector<SeamReport> seams = {seam(1, "a", "a")};
  seams[0].asked.a.first_edge = 2;
  seams[0].asked.a.last_edge = 4;
  seams[0].asked.b.first_edge = seams[0].asked.b.last_edge = 3;
  const SewingSheet sheet = sewing_sheet(seams, pieces);
  EXPECT_THAT(sheet.steps[0].allowances_a, ElementsAre(10, 8, 15)) << "its edges 2, 1 and 4";
  EXPECT_THAT(sheet.steps[0].allowances_b, ElementsAre(12));
}

TEST(SewingOrder, FitsWhereTheJobSaysSo) {
  std::vector<SeamReport> seams = {seam(1, "top", "back")};
  seams[0].asked.fit_on_seat = true;
  EXPECT_EQ(sewing_sheet(seams, cover).steps[0].fit, SewingStep::Fit::job);
}

TEST(RoleInWords, WholeWordsOfOneRoleOnly) {
  EXPECT_EQ(role_in_words("Seat CENTRE, front"), PieceRole::centre);
  EXPECT_EQ(role_in_words("left side"), PieceRole::side);
  EXPECT_EQ(role_in_words("edge strip"), PieceRole::edge_strip);
  EXPECT_EQ(role_in_words("inside up"), std::nullopt);           // no whole word
  EXPECT_EQ(role_in_words("side of the centre"), std::nullopt);  // two roles
  EXPECT_EQ(role_in_words(""), std::nullopt);
}

}  // namespace
}  // namespace chalkfold::draft
