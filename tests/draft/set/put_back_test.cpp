// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/put_back.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "pipeline/draft/set/set_adjustment.h"
#include "tests/draft/sewn_set.h"

namespace chalkfold::draft {
namespace {
using namespace drawn;
using testing::HasSubstr;

/// A piece of the edges given, all with one allowance.
Piece piece_of(const std::string& name, const std::vector<geometry::Curve>& edges, double allowance) {
  Piece piece;
  piece.name = name;
  for (const geometry::Curve& curve : edges) {
    PieceEdge edge;
    edge.number = static_cast<int>(piece.edges.size()) + 1;
    edge.sew = curve;
    edge.allowance = allowance;
    edge.U = 0.1;
    piece.edges.push_back(edge);
    const Polyline points = geometry::flattened(curve, 0.02);
    piece.sew_line.insert(piece.sew_line.end(), points.begin(), points.end() - 1);
  }
  return piece;
}

std::vector<geometry::Curve> straight(const Polyline& corners) {
  std::vector<geometry::Curve> edges;
  for (std::size_t i = 0; i < corners.size(); ++i)
    edges.push_back({line(corners[i], corners[(i + 1) % corners.size()])});
  return edges;
}

/// A piece with a slot of 20.2 mm, hardly wider than its two allowances, and a strip, 2 % shorter, that it is sewn to.
std::vector<Piece> slotted_set() {
  return {
      piece_of("arch",
               straight({{0, 0}, {300, 0}, {300, 200}, {160.2, 200}, {160.2, 100}, {140, 100}, {140, 200}, {0, 200}}),
               10),
      piece_of("strip", straight({{0, 0}, {294, 0}, {294, 60}, {0, 60}}), 10)};
}

AdjustOptions strip_fixed() {
  AdjustOptions options;
  options.fixed = {"strip"};
  return options;
}

TEST(PutBack, APieceThatItsSeamsSpoilStaysAsItWasDraftedAndTheFaultSaysSo) {
  const std::vector<Piece> pieces = slotted_set();
  const AdjustedSet set = adjust_set(pieces, {seam(1, "arch/1", "strip/1")}, strip_fixed());
  ASSERT_TRUE(set.report.adjusted) << set.report.reason;
  ASSERT_EQ(set.report.faults.size(), 1u);
  const Fault& fault = set.report.faults[0];
  EXPECT_EQ(fault.code, "sew-line-crosses");
  EXPECT_EQ(fault.severity, Severity::refusal);
  EXPECT_EQ(fault.panel, "arch");
  EXPECT_THAT(fault.seen, HasSubstr("stands as it was drafted"));
  EXPECT_FALSE(has_refusal(set.pieces[0].faults));
  EXPECT_FALSE(set.pieces[0].adjusted);
  EXPECT_EQ(geometry::length(set.pieces[0].edges[0].sew), 300);
  EXPECT_EQ(set.report.moves[0].largest, 0);
  EXPECT_EQ(set.report.moves[0].edge_after, set.report.moves[0].edge_before);
  EXPECT_NEAR(set.report.after[0].difference, 6, 1e-9) << "the seam as the pieces are cut at last";
}

TEST(PutBack, WhatAnAdjustedPieceIsWarnedOfIsToldWithTheSetAndStopsNothing) {
  const std::vector<Piece> drafted = slotted_set();
  AdjustedSet set;
  set.pieces = drafted;
  set.pieces[0].adjusted = true;
  set.pieces[0].faults.push_back({"allowance-folds", Severity::warning, "at x 150, y 100", "", "", "arch"});
  tell_moved(set, drafted, {});
  ASSERT_EQ(set.report.faults.size(), 1u);
  EXPECT_EQ(set.report.faults[0].code, "allowance-folds");
  EXPECT_EQ(set.report.faults[0].seen, "at x 150, y 100");
  EXPECT_TRUE(set.pieces[0].adjusted);
}

TEST(PutBack, WhatTheDraftedPieceWasToldOfIsNotToldAgain) {
  std::vector<Piece> pieces = slotted_set();
  pieces[0].faults.push_back({"no-needle-row", Severity::warning, "", "", "", "arch"});
  pieces[1] = piece_of("strip", straight({{0, 0}, {299, 0}, {299, 60}, {0, 60}}), 10);
  const AdjustedSet set = adjust_set(pieces, {seam(1, "arch/1", "strip/1")}, strip_fixed());
  ASSERT_TRUE(set.report.adjusted) << set.report.reason;
  EXPECT_TRUE(set.pieces[0].adjusted);
  EXPECT_EQ(set.pieces[0].faults.size(), 1u);
  EXPECT_TRUE(set.report.faults.empty());
}

}  // namespace
}  // namespace chalkfold::draft
