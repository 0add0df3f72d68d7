// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/pair_pieces.h"

#include <gtest/gtest.h>

#include "pipeline/geometry/polygon.h"
#include "tests/draft/flag_draft.h"

namespace chalkfold::draft {
namespace {

/// The flag's mirror image as another panel: turned, elsewhere, stretched along its own x.
panel::Panel other_flag(double stretch, double turn, std::uint32_t seed = 7) {
  panel::Panel panel = drawn::flag_panel(0.05, seed);
  panel.name = "flag right";
  const geometry::Rigid2 laid{turn, {520, -80}};
  const auto lay = [&](const Vec2& p) { return laid * Vec2(-(1 + stretch) * p.x(), p.y()); };
  for (Vec2& p : panel.outline.points) p = lay(p);
  std::reverse(panel.outline.points.begin(), panel.outline.points.end());
  for (panel::MatchMark& m : panel.marks.matches) {
    m.foot = lay(m.foot);
    m.tip = lay(m.tip);
  }
  for (panel::DrillHole& h : panel.marks.holes) h.centre = lay(h.centre);
  return panel;
}

double largest_off(const Polyline& points, const Polyline& truth) {
  double largest = 0;
  for (const Vec2& p : points) largest = std::max(largest, geometry::distance_to(truth, p, true));
  return largest;
}

TEST(PairPieces, BothAreExactMirrorImages) {
  for (const double turn : {0.0, 1.1, -2.7}) {
    const auto [left, right] = pair_pieces(drawn::flag_panel(), other_flag(0.0, turn), {}, {});
    ASSERT_EQ(left.cut_line.size(), right.cut_line.size());
    const std::size_t n = left.cut_line.size();
    for (std::size_t i = 0; i < n; ++i)
      EXPECT_LT((Vec2(-1, 1).cwiseProduct(left.cut_line[i]) - right.cut_line[n - 1 - i]).norm(), 1e-6);
    EXPECT_EQ(left.side, right.side);
    EXPECT_EQ(right.name, "flag right");
    EXPECT_LT(largest_off(left.cut_line, drawn::flag_corners()), 0.3) << turn;  // noise of two panels, registered
    EXPECT_EQ(left.edges.size(), 5u);
    ASSERT_EQ(left.marks.size(), 1u);
    EXPECT_EQ(left.marks[0].origin, MarkOrigin::averaged);
  }
}

TEST(PairPieces, ThePieceKnowsHowItLiesOnItsPanel) {
  for (const double turn : {0.0, 1.1, -2.7}) {
    const panel::Panel panel = other_flag(0.0, turn);
    const auto [left, right] = pair_pieces(drawn::flag_panel(), panel, {}, {});
    EXPECT_LT(largest_off(moved(right.piece_from_panel, panel.outline.points), right.cut_line), 0.3) << turn;
    EXPECT_EQ(left.piece_from_panel.angle, 0);
  }
}

TEST(PairPieces, TheMeanLiesBetweenAndOneCanBeKept) {
  const panel::Panel left = drawn::flag_panel(), stretched = other_flag(0.02, 0.4);  // 6 mm longer
  const double own = geometry::signed_area(drawn::flag_corners());
  const double mean = geometry::signed_area(pair_pieces(left, stretched, {}, {}).first.cut_line);
  EXPECT_NEAR(mean / own, 1.01, 0.001);
  EXPECT_NEAR(geometry::signed_area(pair_pieces(left, stretched, {}, {}, {Fold::left}).first.cut_line) / own, 1.0,
              0.001);
  EXPECT_NEAR(geometry::signed_area(pair_pieces(left, stretched, {}, {}, {Fold::right}).first.cut_line) / own, 1.02,
              0.001);
  EXPECT_GT(pair_pieces(left, stretched, {}, {}).first.pairing.largest, 1);
}

TEST(PairPieces, AMarkOfOnePanelIsMirroredOnTheOther) {
  panel::Panel bare = other_flag(0.0, 0.3);
  bare.marks = {};
  const auto [left, right] = pair_pieces(drawn::flag_panel(), bare, {}, {});
  ASSERT_EQ(left.marks.size(), 1u);
  EXPECT_EQ(left.marks[0].origin, MarkOrigin::measured);
  EXPECT_EQ(right.marks[0].origin, MarkOrigin::mirrored);
}

TEST(PairPieces, PanelsThatAreNoPairAreToldOf) {
  panel::Panel other = drawn::flag_panel();
  other.outline = drawn::measured(drawn::rectangle(300, 180), 0.05);
  const auto [left, right] = pair_pieces(drawn::flag_panel(), other, {}, {});
  EXPECT_TRUE(
      std::any_of(left.faults.begin(), left.faults.end(), [](const Fault& f) { return f.code == "pair-differs"; }));
}

}  // namespace
}  // namespace chalkfold::draft
