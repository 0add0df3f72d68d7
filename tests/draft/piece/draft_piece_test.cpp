// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/draft_piece.h"

#include <gtest/gtest.h>

#include "pipeline/common/error.h"
#include "pipeline/geometry/polygon.h"
#include "tests/draft/flag_draft.h"

namespace chalkfold::draft {
namespace {

// 0.05 mm of white noise, a point a millimetre: an edge of 100 points lies within 0.02 mm, a corner within 0.1.
constexpr double fitted = 0.1;

bool has(const Piece& piece, const std::string& code) {
  return std::any_of(piece.faults.begin(), piece.faults.end(), [&](const Fault& f) { return f.code == code; });
}

std::vector<Vec2> sew_corners(const Piece& piece) {
  std::vector<Vec2> corners;
  for (const PieceEdge& edge : piece.edges) corners.push_back(edge.sew.front().from);
  return corners;
}

TEST(DraftPiece, DefaultAllowancesAreTenMillimetresAndLeaveTheCutLineWhereItWas) {  // 10 mm: common practice, no source
  const DraftOptions options;
  EXPECT_EQ(options.allowance, 10);
  EXPECT_EQ(options.existing_allowance, 10);
  const Piece piece = draft_piece(drawn::flag_panel());
  ASSERT_EQ(piece.edges.size(), 5u);
  const Polyline truth = drawn::flag_corners();
  for (const Vec2& corner : truth) {
    double nearest = 1e300;
    for (const geometry::CurveSegment& s : piece.cut) nearest = std::min(nearest, (s.from - corner).norm());
    EXPECT_LT(nearest, 2 * fitted);
  }
  EXPECT_NEAR(geometry::signed_area(piece.cut_line) / geometry::signed_area(truth), 1, 5e-4);
}

TEST(DraftPiece, EdgesRunCounterClockwiseFromTheLowerLeftCorner) {
  const Piece piece = draft_piece(drawn::flag_panel());
  EXPECT_EQ(piece.edges[0].number, 1);
  for (std::size_t i = 0; i < 5; ++i) {
    DraftOptions on_the_seam;
    on_the_seam.existing_allowance = 0;
    EXPECT_LT((sew_corners(draft_piece(drawn::flag_panel(), on_the_seam))[i] - drawn::flag_corners()[i]).norm(),
              fitted);
  }
}

TEST(DraftPiece, EdgesStartAtTheCornerNearestTheUndersidesLeft) {
  panel::Panel panel = drawn::flag_panel();
  panel::Writing letter;  // upside down: its left is the drawing's right
  letter.box = {Vec2(160, 110), Vec2(130, 110), Vec2(130, 70), Vec2(160, 70)};
  letter.underside = true;
  letter.up = -std::numbers::pi / 2;
  panel.marks.writings.push_back(letter);
  const Piece piece = draft_piece(panel);
  EXPECT_LT((sew_corners(piece)[0] - Vec2(300, 40)).norm(), 40) << sew_corners(piece)[0].transpose();
  ASSERT_TRUE(piece.underside);
  EXPECT_LT((*piece.underside - Vec2(145, 90)).norm(), 1e-9);
}

TEST(DraftPiece, ExistingAllowanceMovesTheSewLineAndTheNewOneTheCutLine) {
  DraftOptions options;
  options.existing_allowance = 0;
  options.allowance = 12;
  const Piece piece = draft_piece(drawn::flag_panel(), options);
  const Polyline truth = drawn::flag_corners();
  for (const Vec2& p : piece.sew_line) EXPECT_LT(geometry::distance_to(truth, p, true), fitted);
  for (const PieceEdge& edge : piece.edges) {
    const geometry::CurvePlace middle = geometry::place_along(edge.sew, 0.5 * length(edge.sew));
    EXPECT_NEAR(geometry::distance_to(piece.cut_line, middle.point, true), 12, 1e-6);
  }
}

TEST(DraftPiece, AnEdgeKeepsItsOwnAllowance) {
  DraftOptions options;
  options.edge_allowances = {{2, 25}, {4, 0}};
  const Piece piece = draft_piece(drawn::flag_panel(), options);
  const double wanted[] = {10, 25, 10, 0, 10};
  for (std::size_t i = 0; i < 5; ++i) {
    EXPECT_EQ(piece.edges[i].allowance, wanted[i]);
    const geometry::CurvePlace middle = geometry::place_along(piece.edges[i].sew, 0.5 * length(piece.edges[i].sew));
    EXPECT_NEAR(geometry::distance_to(piece.cut_line, middle.point, true), wanted[i], 1e-6);
  }
  options.edge_allowances = {{9, 5}};
  EXPECT_TRUE(has(draft_piece(drawn::flag_panel(), options), "no-such-edge"));
}

TEST(DraftPiece, MarksAreCarriedAlongTheSewLinesNormalAndCutNoDeeperThanHalfTheAllowance) {
  panel::Panel panel = drawn::flag_panel();
  DraftOptions options;
  options.notch_depth = 8;
  const Piece piece = draft_piece(panel, options);
  ASSERT_EQ(piece.marks.size(), 1u);
  const PieceMark& mark = piece.marks[0];
  EXPECT_EQ(mark.edge, 1);
  EXPECT_EQ(mark.depth, 5);  // half of 10
  const Vec2 along = Vec2(300, 40).normalized(), inward(-along.y(), along.x());
  EXPECT_LT((mark.inward - inward).norm(), 0.01);
  EXPECT_LT((mark.on_cut - 100 * along).norm(), 0.3);  // back where it was drawn
  EXPECT_LT((mark.on_sew - (100 * along + 10 * inward)).norm(), 0.3);
  EXPECT_LT(geometry::distance_to(piece.cut_line, mark.on_cut, true), 1e-6);
  EXPECT_LT(geometry::distance_to(piece.sew_line, mark.on_sew, true), 1e-3);
}

TEST(DraftPiece, ANarrowStripIsRefusedWithAWordOnWhatToDo) {
  panel::Panel strip = drawn::flag_panel();
  strip.outline = drawn::measured(drawn::rectangle(300, 16), 0.05);
  strip.marks = {};
  const Piece piece = draft_piece(strip);
  EXPECT_TRUE(has(piece, "too-narrow") || has(piece, "sew-line-crosses"));
  DraftOptions on_the_seam;
  on_the_seam.existing_allowance = 0;
  EXPECT_FALSE(has_refusal(draft_piece(strip, on_the_seam).faults));
}

TEST(DraftPiece, OptionsOutOfBoundsAreNamed) {
  DraftOptions options;
  options.allowance = -3;
  try {
    draft_piece(drawn::flag_panel(), options);
    FAIL() << "no error";
  } catch (const UsageError& e) {
    EXPECT_NE(std::string(e.what()).find("allowance, mm, is -3; it must be 0 to 100"), std::string::npos) << e.what();
  }
}

TEST(DraftPiece, HolesOfASymmetricPieceArePairedAndALoneOneIsMirrored) {
  panel::Panel panel = drawn::flag_panel();
  panel.outline = drawn::measured(drawn::rounded_trapezoid(), 0.05);  // axis at x = 210
  panel.marks = {};
  panel.marks.centre = panel::CentreLine{{210, 20}, {210, 260}, 0.1, 0.1, 0.001, 0.9, {}};
  panel.marks.holes = {{{110, 100}, 4, 0.1, 0.9}, {{311, 100}, 4, 0.1, 0.9}, {{150, 200}, 3, 0.1, 0.9}};
  const Piece piece = draft_piece(panel);
  ASSERT_TRUE(piece.symmetry.done);
  ASSERT_TRUE(piece.axis);
  ASSERT_EQ(piece.holes.size(), 4u);
  geometry::MirrorAxis axis;
  axis.point = (*piece.axis)[0];
  axis.direction = ((*piece.axis)[1] - (*piece.axis)[0]).normalized();
  for (const auto& [centre, diameter] : piece.holes) {
    double nearest = 1e300;
    for (const auto& [other, d] : piece.holes) nearest = std::min(nearest, (axis.image(centre) - other).norm());
    EXPECT_LT(nearest, 1e-6);
  }
  for (const Vec2& p : piece.cut_line) EXPECT_LT(geometry::distance_to(piece.cut_line, axis.image(p), true), 1e-6);
}

TEST(DraftPiece, MeasuredAllowanceFollowsTheNeedleRows) {
  panel::Panel panel = drawn::flag_panel();
  panel.outline = drawn::measured(drawn::rectangle(400, 300), 0.4);  // frayed
  panel.marks = {};
  panel::NeedleRow row;  // 12 mm inside, all round
  const geometry::Curve inner = drawn::polygon({{12, 12}, {388, 12}, {388, 288}, {12, 288}});
  for (double s = 0; s < geometry::length(inner); s += 4) row.points.push_back(geometry::place_along(inner, s).point);
  row.pitch = 4;
  row.allowance = 12;
  row.sigma = 0.15;
  panel.marks.needle_rows = {row};
  DraftOptions options;
  options.existing_measured = true;
  const Piece piece = draft_piece(panel, options);
  ASSERT_EQ(piece.edges.size(), 4u);
  const Polyline truth = geometry::flattened(inner, 0.01);
  for (const Vec2& p : piece.sew_line) EXPECT_LT(geometry::distance_to(truth, p, true), 0.3) << p.transpose();
  panel.marks.needle_rows.clear();
  EXPECT_TRUE(has(draft_piece(panel, options), "no-needle-row"));
}

TEST(OtherSide, MirrorsTheGeometryAndKeepsNumbersAndWords) {
  const Piece inside = draft_piece(drawn::flag_panel());
  const Piece face = other_side(inside);
  EXPECT_EQ(face.side, Side::face);
  EXPECT_GT(geometry::signed_area(face.cut_line), 0);
  EXPECT_NEAR(geometry::signed_area(face.cut_line), geometry::signed_area(inside.cut_line), 1e-6);
  ASSERT_EQ(face.edges.size(), inside.edges.size());
  for (const PieceEdge& edge : face.edges) {
    const auto same = std::find_if(inside.edges.begin(), inside.edges.end(),
                                   [&](const PieceEdge& e) { return e.number == edge.number; });
    EXPECT_NEAR(geometry::length(edge.sew), geometry::length(same->sew), 1e-9);
    EXPECT_LT((edge.sew.front().from - Vec2(-1, 1).cwiseProduct(same->sew.back().to)).norm(), 1e-9);
  }
  const Piece back = other_side(face);
  for (std::size_t i = 0; i < inside.cut_line.size(); ++i)
    EXPECT_LT((back.cut_line[i] - inside.cut_line[i]).norm(), 1e-9);
  for (std::size_t i = 0; i < inside.labels.size(); ++i) {
    EXPECT_EQ(face.labels[i].words, inside.labels[i].words);
    EXPECT_LT((back.labels[i].at - inside.labels[i].at).norm(), 1e-9);
  }
}

}  // namespace
}  // namespace chalkfold::draft
