// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/change/compensated_piece.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "pipeline/draft/piece/draft_piece.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"
#include "tests/draft/flag_draft.h"

namespace chalkfold::draft {
namespace {

Piece drafted(const geometry::Curve& shape, double allowance) {
  panel::Panel panel = drawn::flag_panel(0.02);
  panel.outline = drawn::measured(shape, 0.02);
  panel.marks.holes = {{{150, 90}, 4, 0.1, 0.9}};
  DraftOptions options;
  options.existing_allowance = 0;
  options.allowance = allowance;
  options.symmetry.symmetric = Symmetric::no;
  return draft_piece(panel, options);
}

bool has(const Faults& faults, const std::string& code) {
  return std::any_of(faults.begin(), faults.end(), [&](const Fault& f) { return f.code == code; });
}

TEST(CompensatedPiece, SixHundredAtMinusThreePercentIsCutAt618557) {
  const Piece piece = drafted(drawn::rectangle(600, 450), 0);
  const Piece scaled = compensated_piece(piece, {-3, 0, Vec2(1, 0)});
  const Vec2 before = geometry::bounding_box(piece.cut_line).size(),
             after = geometry::bounding_box(scaled.cut_line).size();
  EXPECT_NEAR(after.x(), before.x() / 0.97, 1e-6);
  EXPECT_NEAR(after.y(), before.y(), 1e-6);
  EXPECT_NEAR(after.x(), 618.557, 0.1);  // mm: corners found in noise of 0.02 mm
}

TEST(CompensatedPiece, TheChangeBringsTheSewLineBack) {
  const Piece piece = drafted(drawn::rounded_trapezoid(), 10);
  for (const double grain : {0.0, 0.6, 2.0}) {
    const Compensation change{-3, 1.5, geometry::unit(grain)};
    const Piece scaled = compensated_piece(piece, change);
    const Vec2 g = geometry::unit(grain), h = geometry::left_of(g), centre = geometry::centroid(piece.sew_line);
    const Mat2 later = 0.97 * g * g.transpose() + 1.015 * h * h.transpose();
    double worst = 0;
    for (const Vec2& p : scaled.sew_line)
      worst = std::max(worst, geometry::distance_to(piece.sew_line, centre + later * (p - centre), true));
    EXPECT_LT(worst, 0.06);  // mm: two lines flattened to 0.02 mm, cubics for arcs
    EXPECT_LT((centre + later * (scaled.holes[0].first - centre) - piece.holes[0].first).norm(), 1e-9);
    for (std::size_t i = 0; i < piece.marks.size(); ++i)
      EXPECT_LT((centre + later * (scaled.marks[i].on_sew - centre) - piece.marks[i].on_sew).norm(), 1e-3);
  }
}

TEST(CompensatedPiece, MarksOfAMirroredPieceStayOnTheirEdges) {
  const Piece piece = drafted(drawn::polygon({{0, 0}, {420, 30}, {360, 280}, {60, 250}}), 10);
  ASSERT_FALSE(piece.marks.empty());
  const Compensation change{-3, -1, Vec2(1, 0)};
  const Piece mirrored = compensated_piece(mirror_image(piece), change);
  const Piece image = mirror_image(compensated_piece(piece, change));
  ASSERT_EQ(mirrored.marks.size(), image.marks.size());
  for (std::size_t i = 0; i < image.marks.size(); ++i) {
    EXPECT_EQ(mirrored.marks[i].edge, image.marks[i].edge);
    EXPECT_LT((mirrored.marks[i].on_cut - image.marks[i].on_cut).norm(),
              1e-3);  // mm: arc lengths found from either end
  }
}

TEST(CompensatedPiece, AllowancesStayAndTheLabelsSayIt) {
  const Piece piece = drafted(drawn::polygon({{0, 0}, {600, 0}, {600, 450}, {60, 450}}), 12);
  const Piece scaled = compensated_piece(piece, {-3, -1, Vec2(1, 0)});
  for (const Vec2& p : scaled.cut_line) {
    const double away = geometry::distance_to(scaled.sew_line, p, true);
    EXPECT_GT(away, 12 - 1e-3);  // corners lie further
  }
  EXPECT_TRUE(has(scaled.faults, "compensated"));
  EXPECT_TRUE(std::any_of(scaled.labels.begin(), scaled.labels.end(), [](const PieceLabel& l) {
    return l.words.find("scaled for -3.00 % along") != std::string::npos;
  }));
}

TEST(CompensatedPiece, AnAxisAskewToTheGrainIsLeftOut) {
  Piece piece = drafted(drawn::rectangle(600, 450), 10);
  piece.axis = {Vec2(300, 0), Vec2(300, 450)};
  EXPECT_TRUE(compensated_piece(piece, {-3, 1, Vec2(1, 0)}).axis);
  EXPECT_TRUE(compensated_piece(piece, {-3, 1, Vec2(0, 1)}).axis);
  EXPECT_TRUE(compensated_piece(piece, {-3, -3, geometry::unit(0.7)}).axis);
  const Piece askew = compensated_piece(piece, {-3, 1, geometry::unit(0.7)});
  EXPECT_FALSE(askew.axis);
  EXPECT_TRUE(has(askew.faults, "axis-lost"));
}

}  // namespace
}  // namespace chalkfold::draft
