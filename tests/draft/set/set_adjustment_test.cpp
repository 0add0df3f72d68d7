// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/set_adjustment.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <numbers>

#include "pipeline/common/error.h"
#include "pipeline/draft/piece/pair_pieces.h"
#include "pipeline/geometry/polygon.h"
#include "tests/draft/sewn_set.h"

namespace chalkfold::draft {
namespace {
using namespace drawn;

/// Nearest point of a closed polyline.
Vec2 nearest(const Polyline& closed, const Vec2& p) {
  Vec2 best = closed[0];
  double least = 1e300;
  for (std::size_t i = 0; i < closed.size(); ++i) {
    const Vec2 a = closed[i], d = closed[(i + 1) % closed.size()] - a;
    const Vec2 q = a + std::clamp(d.dot(p - a) / std::max(d.squaredNorm(), 1e-18), 0.0, 1.0) * d;
    if ((q - p).norm() < least) {
      least = (q - p).norm();
      best = q;
    }
  }
  return best;
}

struct Distance {
  double rms = 0, largest = 0;
};

/// Distance of a piece's sew line to its design, rigid motion removed (nearest points and rigid fits in turn).
Distance to_design(const Piece& piece, const Design& design) {
  Polyline points = geometry::resample_closed(piece.sew_line, 400);
  const Polyline truth = geometry::flattened(design.outline(), 0.005);
  Polyline on(points.size());
  for (int round = 0; round < 60; ++round) {
    for (std::size_t i = 0; i < points.size(); ++i) on[i] = nearest(truth, points[i]);
    const geometry::Rigid2 fit = geometry::fit_rigid(points, on);
    for (Vec2& p : points) p = fit * p;
  }
  Distance d;
  for (const Vec2& p : points) {
    const double away = (nearest(truth, p) - p).norm();
    d.rms += away * away;
    d.largest = std::max(d.largest, away);
  }
  d.rms = std::sqrt(d.rms / static_cast<double>(points.size()));
  return d;
}

/// The set as measured: which piece is worn by how much, and along which way.
std::vector<Piece> worn_set(const std::array<double, 3>& stretch, const std::array<double, 3>& direction,
                            std::uint32_t seed) {
  constexpr std::array<std::size_t, 3> bulging{0, 2, 2};  // an edge of each piece that is sewn
  const std::vector<Design> designs = sewn_designs();
  std::vector<Piece> pieces;
  for (std::size_t i = 0; i < designs.size(); ++i) {
    Worn worn;
    worn.stretch = stretch[i];
    worn.direction = direction[i];
    if (stretch[i] > 0) {
      const geometry::Curve edge = designs[i].edges()[bulging[i]];
      const geometry::CurvePlace at = geometry::place_along(edge, 0.4 * length(edge));
      worn.bulge = 1;
      worn.bulge_at = at.point;
      worn.outward = {at.direction.y(), -at.direction.x()};
    }
    worn.noise = 0.15;
    worn.mark_noise = 0.5;
    worn.seed = seed * 10 + static_cast<std::uint32_t>(i);
    pieces.push_back(draft_piece(worn_panel(designs[i], worn), on_the_seam()));
  }
  return pieces;
}

constexpr std::array<std::array<double, 3>, 3> wears{{{0.025, 0, 0.01}, {0, 0.025, 0.01}, {0.01, 0.02, 0}}};

AdjustOptions roomy() {
  AdjustOptions options;
  options.move_limit = 15;  // mm: 2.5 % of 660 mm, the larger panel's diagonal
  return options;
}

double pooled(const std::vector<Piece>& pieces) {
  const std::vector<Design> designs = sewn_designs();
  double squares = 0;
  for (std::size_t i = 0; i < pieces.size(); ++i) squares += std::pow(to_design(pieces[i], designs[i]).rms, 2);
  return std::sqrt(squares / static_cast<double>(pieces.size()));
}

TEST(SetAdjustment, AWornSetComesBackToItsDesign) {
  for (std::uint32_t seed = 1; seed <= 9; ++seed) {
    std::array<double, 3> direction{};  // along the panel, or from front to back
    for (std::size_t i = 0; i < 3; ++i) direction[i] = (seed / 3 + i) % 2 == 0 ? 0 : 0.5 * std::numbers::pi;
    const std::vector<Piece> pieces = worn_set(wears[seed % 3], direction, seed);
    const AdjustedSet set = adjust_set(pieces, sewn_seams(), roomy());
    ASSERT_TRUE(set.report.adjusted) << set.report.reason;
    for (const SeamReport& seam : set.report.after) {
      EXPECT_NEAR(seam.difference, 0, 0.3) << "seam " << seam.asked.number << ", seed " << seed;
      for (const SeamInterval& i : seam.intervals) EXPECT_NEAR(i.difference(), 0, 0.3) << "seam " << seam.asked.number;
    }
    const double before = pooled(pieces), after = pooled(set.pieces);
    RecordProperty("rms", std::to_string(before) + " -> " + std::to_string(after));
    EXPECT_LT(after, 0.6 * before) << "seed " << seed;
    for (std::size_t i = 0; i < 3; ++i) {
      if (wears[seed % 3][i] > 0) continue;
      EXPECT_LT(set.report.moves[i].largest, 0.3) << pieces[i].name << " was right, seed " << seed;
      EXPECT_LT(to_design(set.pieces[i], sewn_designs()[i]).largest, 0.3) << pieces[i].name << ", seed " << seed;
    }
  }
}

/// Two seams of a piece run along two of its ways only; of a stretch across both, the half is not seen by them.
TEST(SetAdjustment, WearThatRunsAslantIsTakenBackAsFarAsSeamsTell) {
  double before = 0, after = 0;
  for (std::uint32_t seed = 1; seed <= 9; ++seed) {
    const std::array<double, 3> direction{0.7 * seed, 0.7 * (seed + 1), 0.7 * (seed + 2)};
    const std::vector<Piece> pieces = worn_set(wears[seed % 3], direction, seed);
    const AdjustedSet set = adjust_set(pieces, sewn_seams(), roomy());
    ASSERT_TRUE(set.report.adjusted) << set.report.reason;
    before += std::pow(pooled(pieces), 2);
    after += std::pow(pooled(set.pieces), 2);
    for (const SeamReport& seam : set.report.after) EXPECT_NEAR(seam.difference, 0, 0.3);
  }
  EXPECT_LT(std::sqrt(after / before), 0.6);
}

TEST(SetAdjustment, AConsistentSetMovesNothing) {
  const std::vector<Piece> pieces = exact_set();
  const AdjustedSet set = adjust_set(pieces, sewn_seams());
  ASSERT_TRUE(set.report.adjusted) << set.report.reason;
  for (const PieceMoves& moves : set.report.moves) EXPECT_LT(moves.largest, 1e-6) << moves.piece;
  for (std::size_t i = 0; i < pieces.size(); ++i)
    for (std::size_t e = 0; e < pieces[i].edges.size(); ++e)
      EXPECT_EQ(set.pieces[i].edges[e].sew.front().from, pieces[i].edges[e].sew.front().from);
}

TEST(SetAdjustment, FixedPiecesStayBitByBit) {
  std::vector<Piece> pieces = worn_set({0, 0.02, 0.01}, {0, 0, 0}, 3);
  AdjustOptions options = roomy();
  options.fixed = {"cushion top"};
  const AdjustedSet set = adjust_set(pieces, sewn_seams(), options);
  ASSERT_TRUE(set.report.adjusted) << set.report.reason;
  EXPECT_TRUE(set.report.moves[0].fixed);
  EXPECT_EQ(set.report.moves[0].largest, 0);
  for (std::size_t e = 0; e < 4; ++e) EXPECT_EQ(set.pieces[0].edges[e].sew.back().to, pieces[0].edges[e].sew.back().to);
  for (const SeamReport& seam : set.report.after) EXPECT_NEAR(seam.difference, 0, 0.05);
}

TEST(SetAdjustment, EaseIsLeftInAndSpreadBetweenTheMarks) {
  std::vector<SeamAsked> seams = sewn_seams();
  seams[0].ease = -4;  // the front is to be 4 mm longer than the top's edge
  const AdjustedSet set = adjust_set(exact_set(), seams);
  ASSERT_TRUE(set.report.adjusted) << set.report.reason;
  const SeamReport& eased = set.report.after[0];
  EXPECT_NEAR(eased.difference, -4, 0.05);
  EXPECT_EQ(eased.verdict, SeamVerdict::eased);
  for (const SeamInterval& i : eased.intervals) EXPECT_NEAR(i.difference(), i.wanted, 0.05);
}

TEST(SetAdjustment, AnAdjustedPieceIsAPieceAgain) {
  const std::vector<Piece> pieces = worn_set(wears[0], {0, 0, 0}, 1);
  const AdjustedSet set = adjust_set(pieces, sewn_seams(), roomy());
  ASSERT_TRUE(set.report.adjusted) << set.report.reason;
  for (const Piece& piece : set.pieces) {
    for (std::size_t e = 0; e < piece.edges.size(); ++e) {
      const geometry::Curve& sew = piece.edges[e].sew;
      EXPECT_EQ(sew.back().to, piece.edges[(e + 1) % piece.edges.size()].sew.front().from);
      for (std::size_t k = 0; k + 1 < sew.size(); ++k) {
        EXPECT_EQ(sew[k].to, sew[k + 1].from);
        EXPECT_GT(sew[k].direction(1).dot(sew[k + 1].direction(0)), std::cos(1e-3)) << "a kink inside an edge";
      }
    }
    EXPECT_GT(geometry::signed_area(piece.cut_line), geometry::signed_area(piece.sew_line));
    EXPECT_FALSE(piece.labels.empty());
    for (const PieceMark& mark : piece.marks) {
      EXPECT_LT(geometry::distance_to(piece.sew_line, mark.on_sew, true), 0.05);
      EXPECT_LT(geometry::distance_to(piece.cut_line, mark.on_cut, true), 0.05);
    }
  }
  const Piece& front_piece = set.pieces[1];
  EXPECT_EQ(front_piece.edges[0].sew.size(), 1u) << "a straight edge stays one line";
}

/// A piece that is symmetric about x = 250, and a strip for its edge 2.
std::vector<Piece> symmetric_set(double strip_length) {
  const Design seat{"seat", {{0, 0}, {500, 0}, {460, 400}, {40, 400}}, {10, 5, 0, 5}, {{}, {150}, {}, {250}}};
  DraftOptions options = on_the_seam();
  options.symmetry.symmetric = Symmetric::yes;
  Piece piece = draft_piece(worn_panel(seat), options);
  const Design strip{"strip", {{0, 0}, {strip_length, 0}, {strip_length, 70}, {0, 70}}, {0, 0, 0, 0}, {{}, {}, {}, {}}};
  return {piece, exact_piece(strip)};
}

TEST(SetAdjustment, AnAxisIsKept) {
  const std::vector<Piece> pieces = symmetric_set(398);
  ASSERT_TRUE(pieces[0].axis);
  const AdjustedSet set = adjust_set(pieces, {seam(1, "seat/2", "strip/1")});
  ASSERT_TRUE(set.report.adjusted) << set.report.reason;
  EXPECT_GT(set.report.moves[0].largest, 0.2);
  const Piece& seat = set.pieces[0];
  EXPECT_NEAR(geometry::length(seat.edges[1].sew), geometry::length(seat.edges[3].sew), 1e-6);
  const Vec2 at = (*pieces[0].axis)[0], along = ((*pieces[0].axis)[1] - at).normalized();
  for (const Vec2& p : seat.cut_line) {
    const Vec2 image = at + 2 * along.dot(p - at) * along - (p - at);
    EXPECT_LT(geometry::distance_to(seat.cut_line, image, true), 0.03);  // mm: cut lines are flattened to 0.02
  }
}

TEST(SetAdjustment, MirrorPairsStayMirrored) {
  const Design wing{"left wing", {{0, 0}, {300, 40}, {260, 250}, {-30, 180}}, {6, 0, 0, 4}, {{100}, {}, {}, {}}};
  panel::Panel left = worn_panel(wing), right = left;
  right.name = "right wing";
  for (Vec2& p : right.outline.points) p.x() = -p.x();
  std::reverse(right.outline.points.begin(), right.outline.points.end());
  for (panel::MatchMark& m : right.marks.matches) {
    m.foot.x() = -m.foot.x();
    m.tip.x() = -m.tip.x();
  }
  auto [a, b] = pair_pieces(left, right, on_the_seam(), on_the_seam());
  const double edge = geometry::length(a.edges[0].sew);
  const std::vector<Piece> pieces = {
      a, b, exact_piece({"strip", {{0, 0}, {edge - 2, 0}, {edge - 2, 60}, {0, 60}}, {0, 0, 0, 0}, {{}, {}, {}, {}}})};
  const std::string right_edge = "right wing/" + std::to_string(a.edges[0].number);
  const AdjustedSet set = adjust_set(pieces, {seam(1, right_edge, "strip/1")});
  ASSERT_TRUE(set.report.adjusted) << set.report.reason << (set.report.faults.empty() ? "" : set.report.faults[0].seen);
  EXPECT_NEAR(set.report.after[0].difference, 0, 0.05);
  EXPECT_GT(set.report.moves[0].largest, 0.2);
  EXPECT_NEAR(set.report.moves[0].largest, set.report.moves[1].largest, 1e-9);
  const Piece image = mirror_image(set.pieces[0]);
  ASSERT_EQ(image.sew_line.size(), set.pieces[1].sew_line.size());
  for (std::size_t i = 0; i < image.sew_line.size(); ++i)
    EXPECT_LT((image.sew_line[i] - set.pieces[1].sew_line[i]).norm(), 1e-9);
  EXPECT_EQ(set.pieces[1].name, "right wing");
}

TEST(SetAdjustment, APairIsWornAsMuchAsTheMoreWornOfItsPanels) {
  panel::Panel left = worn_panel(cushion_top());
  left.name = "left wing";
  panel::Panel right = left;
  right.name = "right wing";
  std::reverse(right.outline.points.begin(), right.outline.points.end());
  for (Vec2& p : right.outline.points) p.x() = -p.x();
  for (panel::MatchMark& m : right.marks.matches) {
    m.foot.x() = -m.foot.x();
    m.tip.x() = -m.tip.x();
  }
  const auto [a, b] = pair_pieces(left, right, on_the_seam(), on_the_seam());
  const double edge = geometry::length(a.edges[0].sew);
  const std::vector<Piece> pieces = {
      a, b, exact_piece({"strip", {{0, 0}, {edge - 8, 0}, {edge - 8, 60}, {0, 60}}, {0, 0, 0, 0}, {{}, {}, {}, {}}})};
  AdjustOptions options = roomy();
  options.fixed = {"strip"};
  options.piece_wear = {{"left wing", 0.0005}, {"right wing", 0.02}};
  const std::vector<SeamAsked> seams = {seam(1, "left wing/" + std::to_string(a.edges[0].number), "strip/1")};
  const AdjustedSet set = adjust_set(pieces, seams, options);
  ASSERT_TRUE(set.report.adjusted) << set.report.reason << (set.report.faults.empty() ? "" : set.report.faults[0].seen);
  EXPECT_NEAR(set.report.after[0].difference, 0, 0.05);
}

std::string told(const SetReport& report) {
  std::string all;
  for (const Fault& f : report.faults) all += f.code + ": " + f.seen + " " + f.remedy + "\n";
  return all;
}

TEST(SetAdjustment, AWrongPairingIsRefusedByName) {
  std::vector<SeamAsked> seams = sewn_seams();
  seams[2] = seam(3, "front/4", "side/4");  // 160 with 175 mm
  const AdjustedSet set = adjust_set(exact_set(), seams, roomy());
  EXPECT_FALSE(set.report.adjusted);
  EXPECT_TRUE(set.pieces.empty());
  EXPECT_EQ(set.report.seams.size(), 3u) << "what was found out stays";
  EXPECT_THAT(told(set.report), testing::AllOf(testing::HasSubstr("seam-unlikely: Seam 3 (front/4 with side/4)"),
                                               testing::HasSubstr("side/2 (160.0 mm) would fit front/4")));
}

TEST(SetAdjustment, SeamsThatContradictEachOtherAreRefusedByName) {
  std::vector<SeamAsked> seams = sewn_seams();
  seams.push_back(seam(4, "cushion top/1", "front/3", 5));
  const AdjustedSet set = adjust_set(exact_set(), seams, roomy());
  EXPECT_FALSE(set.report.adjusted);
  EXPECT_THAT(told(set.report), testing::AllOf(testing::HasSubstr("seams-contradict: Seam 4"),
                                               testing::HasSubstr("Without it they meet")));
}

TEST(SetAdjustment, AMoveOverTheLimitNamesItsSeam) {
  std::vector<SeamAsked> seams = sewn_seams();
  seams[1].ease = 9;
  AdjustOptions options;
  options.move_limit = 1;
  const AdjustedSet set = adjust_set(exact_set(), seams, options);
  EXPECT_FALSE(set.report.adjusted);
  EXPECT_THAT(told(set.report),
              testing::AllOf(testing::HasSubstr("moves-too-far: Seam 2"), testing::HasSubstr("its ease of 9 mm")));
}

TEST(SetAdjustment, FixedPiecesThatDifferAreRefused) {
  std::vector<SeamAsked> seams = sewn_seams();
  seams[0].ease = 5;
  AdjustOptions options = roomy();
  options.fixed = {"cushion top", "front"};
  const AdjustedSet set = adjust_set(exact_set(), seams, options);
  EXPECT_FALSE(set.report.adjusted);
  EXPECT_THAT(told(set.report), testing::HasSubstr("seam-unlikely: Seam 1"));
}

TEST(SetAdjustment, FixedPiecesThatMeetWithinTheToleranceLeaveTheOthersToBeAdjusted) {
  std::vector<SeamAsked> seams = sewn_seams();
  seams[0].ease = 1;  // mm, that they do not have
  seams[1].ease = 2;
  AdjustOptions options = roomy();
  options.fixed = {"cushion top", "front"};
  const AdjustedSet set = adjust_set(exact_set(), seams, options);
  ASSERT_TRUE(set.report.adjusted) << told(set.report);
  EXPECT_NEAR(set.report.after[0].difference, 0, 1e-3) << "left as it is";
  EXPECT_NEAR(set.report.after[1].difference, 2, 0.05);
}

TEST(SetAdjustment, ASeamThatMeetsWithinItsToleranceIsNeverUnlikely) {
  std::vector<SeamAsked> seams = sewn_seams();
  seams[0].ease = 1.5;  // mm, of 480: within the 2 mm of the tolerance, but many sigmas of such wear
  AdjustOptions options = roomy();
  options.wear = 0.0002;
  const AdjustedSet set = adjust_set(exact_set(), seams, options);
  ASSERT_EQ(set.report.seams[0].verdict, SeamVerdict::eased);
  EXPECT_TRUE(set.report.adjusted) << told(set.report);
}

TEST(SetAdjustment, SeamsThatAreNotThereStopTheAdjustmentAndAreTold) {
  std::vector<SeamAsked> seams = sewn_seams();
  seams.push_back(seam(4, "cushion top/9", "front/1"));
  const AdjustedSet set = adjust_set(exact_set(), seams);
  EXPECT_FALSE(set.report.adjusted);
  EXPECT_EQ(set.report.seams.size(), 3u);
  EXPECT_THAT(told(set.report), testing::HasSubstr("seam-unknown-edge: Seam 4"));
  EXPECT_FALSE(adjust_set(exact_set(), {}).report.adjusted);
}

TEST(SetAdjustment, OptionsOutOfBoundsAreRefused) {
  AdjustOptions options;
  options.wear = 0.5;
  EXPECT_THROW(adjust_set(exact_set(), sewn_seams(), options), UsageError);
  options = {};
  options.move_limit = 0;
  EXPECT_THROW(check(options), UsageError);
}

}  // namespace
}  // namespace chalkfold::draft
