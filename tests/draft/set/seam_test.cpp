// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/seam.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/common/error.h"
#include "tests/draft/sewn_set.h"

namespace chalkfold::draft {
namespace {
using namespace drawn;

constexpr double exact = 1e-6;  // mm: arc lengths of lines and arcs are closed forms

TEST(Seam, EdgesEqualByDesignMeetToTheLastMark) {
  const std::vector<Piece> pieces = exact_set();
  for (const SeamAsked& asked : sewn_seams()) {
    ASSERT_FALSE(find_fault(asked, pieces));
    const SeamReport report = compare_sides(asked, pieces);
    EXPECT_EQ(report.verdict, SeamVerdict::meets);
    EXPECT_NEAR(report.difference, 0, exact) << "seam " << asked.number;
    EXPECT_EQ(report.asked.run, SeamRun::against);
    ASSERT_EQ(report.intervals.size(), asked.number == 3 ? 2u : 3u);
    for (const SeamInterval& i : report.intervals) EXPECT_NEAR(i.difference(), 0, exact) << "seam " << asked.number;
    EXPECT_TRUE(report.marks_meet());
    EXPECT_TRUE(report.unpaired_marks_a.empty() && report.unpaired_marks_b.empty());
  }
}

TEST(Seam, LengthIsTheArcOfTheSewLine) {
  const std::vector<Piece> pieces = exact_set();
  const SeamLength one = seam_length(read_seam_side("cushion top/1"), pieces);
  EXPECT_NEAR(one.length, over_chord(front_length, front_bulge), exact);
  const double all = seam_length(read_seam_side("cushion top/1-4"), pieces).length;
  const double round = seam_length(read_seam_side("cushion top/3-2"), pieces).length;
  EXPECT_NEAR(all, round, exact) << "a run that wraps round";
  EXPECT_NEAR(seam_length(read_seam_side("cushion top/1:start-2"), pieces).length, 300, exact);
  EXPECT_NEAR(seam_length(read_seam_side("cushion top/4-1:2-4"), pieces).length,
              seam_length(read_seam_side("cushion top/4"), pieces).length - 320 + 300, exact)
      << "marks are counted along the whole run";
}

TEST(Seam, UOfALengthGrowsWithTheEdgesAndTheScale) {
  std::vector<Piece> pieces = exact_set();
  for (PieceEdge& edge : pieces[0].edges) edge.U = 0.2;
  SeamOptions options;
  options.scale_sigma = 0;
  const SeamLength ends = seam_length(read_seam_side("cushion top/1"), pieces, options);
  EXPECT_GT(ends.U, 0.2 * std::sqrt(2.0) - 0.01);  // two corners of 0.2 mm each, near a right angle
  EXPECT_LT(ends.U, 0.35);
  options.scale_sigma = 0.003;
  const SeamLength scaled = seam_length(read_seam_side("cushion top/1"), pieces, options);
  EXPECT_NEAR(scaled.U, std::hypot(ends.U, 0.006 * ends.length), exact);
  const SeamReport together = compare_sides(sewn_seams()[0], pieces, options);
  EXPECT_LT(together.U_difference, 1) << "one scale makes both longer alike";
  options.one_scale = false;
  EXPECT_GT(compare_sides(sewn_seams()[0], pieces, options).U_difference, 3);
}

TEST(Seam, ToleranceIsTheLargestOfMillimetresShareAndU) {
  std::vector<Piece> pieces = exact_set();
  SeamOptions options;
  EXPECT_DOUBLE_EQ(compare_sides(sewn_seams()[0], pieces, options).tolerance, 2);
  options.tolerance_share = 0.01;
  EXPECT_NEAR(compare_sides(sewn_seams()[0], pieces, options).tolerance, 4.8, 0.02);
  for (Piece& piece : pieces)
    for (PieceEdge& edge : piece.edges) edge.U = 8;
  const SeamReport unsure = compare_sides(sewn_seams()[0], pieces, options);
  EXPECT_DOUBLE_EQ(unsure.tolerance, unsure.U_difference);
  EXPECT_GT(unsure.tolerance, 8);
}

TEST(Seam, EaseIsTheWantedDifference) {
  Design longer = front();
  longer.corners[2].x() += 6;  // the front's upper edge 6 mm longer, its lower left one not
  std::vector<Piece> pieces = {exact_piece(cushion_top()), exact_piece(longer), exact_piece(side())};
  SeamAsked asked = seam(1, "front/3", "cushion top/1");
  EXPECT_EQ(compare_sides(asked, pieces).verdict, SeamVerdict::does_not_meet);
  asked.ease = 6;
  const SeamReport eased = compare_sides(asked, pieces);
  EXPECT_EQ(eased.verdict, SeamVerdict::eased);
  double shares = 0;
  for (const SeamInterval& i : eased.intervals) shares += i.wanted;
  EXPECT_NEAR(shares, 6, exact) << "the ease is spread over the intervals and is all there";
  asked.ease = -6;
  EXPECT_EQ(compare_sides(asked, pieces).verdict, SeamVerdict::does_not_meet);
}

TEST(Seam, MarksTellWhichWayASideRuns) {
  std::vector<Piece> pieces = exact_set();
  pieces[1] = other_side(pieces[1]);  // drawn face up
  const SeamReport face = compare_sides(sewn_seams()[0], pieces);
  EXPECT_EQ(face.asked.run, SeamRun::with);
  EXPECT_EQ(face.run_by, SeamReport::RunBy::marks);
  EXPECT_TRUE(face.marks_meet());
  std::vector<Piece> bare = pieces;
  for (Piece& piece : bare) piece.marks.clear();
  const SeamReport without = compare_sides(sewn_seams()[0], bare);
  EXPECT_EQ(without.asked.run, SeamRun::with);
  EXPECT_EQ(without.run_by, SeamReport::RunBy::sides);
  pieces[1].side = Side::inside;  // now its side is told wrong, and the marks say so
  const SeamReport told = compare_sides(sewn_seams()[0], pieces);
  EXPECT_EQ(told.asked.run, SeamRun::with);
  EXPECT_EQ(told.run_by, SeamReport::RunBy::marks);
  SeamAsked given = sewn_seams()[0];
  given.run = SeamRun::against;
  const SeamReport forced = compare_sides(given, pieces);
  EXPECT_EQ(forced.run_by, SeamReport::RunBy::job);
  EXPECT_FALSE(forced.marks_meet());
}

TEST(Seam, AMirroredSideRunsWith) {
  const std::vector<Piece> pieces = exact_set();
  const SeamReport report = compare_sides(seam(1, "front/2 mirrored", "side/4"), pieces);
  EXPECT_EQ(report.asked.run, SeamRun::with);
  EXPECT_EQ(report.run_by, SeamReport::RunBy::sides);
}

TEST(Seam, AMarkWithoutPartnerIsLeftOver) {
  std::vector<Piece> pieces = exact_set();
  std::erase_if(pieces[1].marks, [](const PieceMark& m) { return m.edge == 3 && m.along < 300; });
  const SeamReport report = compare_sides(sewn_seams()[0], pieces);
  EXPECT_EQ(report.unpaired_marks_a, std::vector<int>{2});
  ASSERT_EQ(report.intervals.size(), 2u);
  EXPECT_NEAR(report.intervals[0].a, 130, exact);
  EXPECT_TRUE(report.marks_meet());
}

TEST(Seam, WithoutMarksNoneMissEachOtherHoweverTheSidesDiffer) {
  const SeamReport report = compare_sides(seam(1, "cushion top/2", "side/4"), exact_set());
  ASSERT_EQ(report.intervals.size(), 1u);
  EXPECT_EQ(report.verdict, SeamVerdict::does_not_meet);
  EXPECT_TRUE(report.marks_meet());
}

TEST(Seam, WhatCannotBeHadIsToldWithWhatIsThere) {
  std::vector<Piece> pieces = exact_set();
  const auto fault = [&](const std::string& a, const std::string& b) {
    const auto f = find_fault(seam(7, a, b), pieces);
    return f ? f->code + ": " + f->seen + " " + f->remedy : "";
  };
  EXPECT_EQ(fault("front/1", "side/1"), "");
  EXPECT_THAT(fault("frnt/1", "side/1"), testing::AllOf(testing::HasSubstr("seam-unknown-piece: Seam 7"),
                                                        testing::HasSubstr("Was \"front\" meant?")));
  EXPECT_THAT(fault("front/1", "side/9"),
              testing::AllOf(testing::HasSubstr("seam-unknown-edge: Seam 7"), testing::HasSubstr("edges 1 to 4")));
  EXPECT_THAT(fault("front/3:1-3", "side/1"), testing::HasSubstr("seam-unknown-mark"));
  EXPECT_THAT(fault("front/3", "front/3"), testing::HasSubstr("seam-on-itself"));
  EXPECT_THAT(fault("front/3:start-1", "front/3:1-end"), "") << "two parts of one edge may be sewn together";
  EXPECT_THAT(fault("front/1-2", "front/2-3"), testing::HasSubstr("seam-on-itself"));
  pieces[2].faults.push_back({"too-narrow", Severity::refusal, "", "", "", ""});
  EXPECT_THAT(fault("front/1", "side/1"), testing::HasSubstr("seam-piece-refused"));
}

TEST(Seam, EdgesThatNoSeamTakesAreListed) {
  const std::vector<UnpairedEdge> unpaired = unpaired_edges(sewn_seams(), exact_set());
  std::string all;
  for (const UnpairedEdge& edge : unpaired) all += edge.piece + "/" + std::to_string(edge.edge) + " ";
  EXPECT_EQ(all, "cushion top/2 cushion top/3 front/1 front/2 side/1 side/4 ");
}

TEST(Seam, OptionsOutOfBoundsAreRefused) {
  SeamOptions options;
  options.tolerance = 0;
  EXPECT_THROW(check(options), UsageError);
  options = {};
  options.scale_sigma = 0.5;
  EXPECT_THROW(compare_sides(sewn_seams()[0], exact_set(), options), UsageError);
}

}  // namespace
}  // namespace chalkfold::draft
