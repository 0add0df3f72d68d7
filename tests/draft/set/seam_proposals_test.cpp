// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/set/seam_proposals.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "tests/draft/sewn_set.h"

namespace chalkfold::draft {
namespace {
using namespace drawn;

/// As measured, each worn its own way: 1 to 2.5 % along one direction, noise of a photo, marks drawn by hand.
std::vector<Piece> worn_set(std::uint32_t seed, double mark_noise = 0.7) {
  const std::vector<Design> designs = sewn_designs();
  std::vector<Piece> pieces;
  for (std::size_t i = 0; i < designs.size(); ++i) {
    Worn worn;
    worn.stretch = 0.01 + 0.0075 * static_cast<double>((i + seed) % 3);
    worn.direction = 0.7 * static_cast<double>(i + seed);
    worn.noise = 0.15;
    worn.mark_noise = mark_noise;
    worn.seed = seed * 10 + static_cast<std::uint32_t>(i);
    pieces.push_back(draft_piece(worn_panel(designs[i], worn), on_the_seam()));
  }
  return pieces;
}

bool same(const SeamSide& a, const SeamSide& b) { return to_text(a) == to_text(b); }
bool same_seam(const SeamAsked& a, const SeamAsked& b) {
  return (same(a.a, b.a) && same(a.b, b.b)) || (same(a.a, b.b) && same(a.b, b.a));
}
bool takes(const SeamAsked& seam, const SeamSide& side) { return same(seam.a, side) || same(seam.b, side); }

TEST(SeamProposals, EveryTrueSeamComesFirstAndNoFalseOneIsSure) {
  for (std::uint32_t seed = 1; seed <= 12; ++seed) {
    const std::vector<SeamReport> proposals = propose_seams({}, worn_set(seed));
    const std::vector<SeamAsked> truth = sewn_seams();
    for (const SeamAsked& seam : truth)
      for (const SeamSide& side : {seam.a, seam.b}) {
        const auto first =
            std::find_if(proposals.begin(), proposals.end(), [&](const SeamReport& p) { return takes(p.asked, side); });
        ASSERT_NE(first, proposals.end()) << to_text(side) << ", seed " << seed;
        EXPECT_TRUE(same_seam(first->asked, seam))
            << to_text(first->asked.a) << " with " << to_text(first->asked.b) << ", seed " << seed;
      }
    for (const SeamReport& p : proposals) {
      EXPECT_TRUE(p.proposed);
      const bool is_true =
          std::any_of(truth.begin(), truth.end(), [&](const auto& t) { return same_seam(t, p.asked); });
      EXPECT_TRUE(is_true || p.confidence <= 0.8)
          << p.confidence << " for " << to_text(p.asked.a) << " with " << to_text(p.asked.b);
    }
  }
}

TEST(SeamProposals, EdgesWithoutMarksAreNeverSure) {
  std::vector<Piece> pieces = exact_set();
  for (Piece& piece : pieces) piece.marks.clear();
  const std::vector<SeamReport> proposals = propose_seams({}, pieces);
  ASSERT_FALSE(proposals.empty());
  for (const SeamReport& p : proposals) EXPECT_LE(p.confidence, 0.5);
}

TEST(SeamProposals, TwinsAreBothToldAndNeitherIsSure) {
  std::vector<Piece> pieces = exact_set();
  pieces.push_back(pieces[1]);
  pieces.back().name = "front again";
  const std::vector<SeamReport> proposals = propose_seams({}, pieces);
  int found = 0;
  for (const SeamReport& p : proposals)
    if (takes(p.asked, read_seam_side("cushion top/1")) &&
        (takes(p.asked, read_seam_side("front/3")) || takes(p.asked, read_seam_side("front again/3")))) {
      ++found;
      EXPECT_LE(p.confidence, 0.5);
    }
  EXPECT_EQ(found, 2);
}

/// Left and right are alike edge by edge because they were made so.
TEST(SeamProposals, TheTwoOfAPairAreNotTakenForSewnTogether) {
  Piece left = worn_set(1)[0];
  left.pairing.done = true;
  Piece right = mirror_image(left);
  right.name = "the other";
  for (const SeamReport& proposal : propose_seams({}, {left, right})) EXPECT_LT(proposal.confidence, 0.5);
  left.pairing.done = right.pairing.done = false;  // not made alike: then it tells something
  double surest = 0;
  for (const SeamReport& proposal : propose_seams({}, {left, right})) surest = std::max(surest, proposal.confidence);
  EXPECT_GT(surest, 0.5);
}

TEST(SeamProposals, EdgesOfTheJobsSeamsAreLeftAloneAndNumbersGoOn) {
  const std::vector<SeamReport> proposals = propose_seams(sewn_seams(), exact_set());
  for (const SeamReport& p : proposals) {
    EXPECT_GT(p.asked.number, 3);
    for (const SeamAsked& seam : sewn_seams())
      for (const SeamSide& side : {seam.a, seam.b}) EXPECT_FALSE(takes(p.asked, side)) << to_text(side);
  }
}

TEST(SeamProposals, AStripIsFoundToRunRoundSeveralEdges) {
  std::vector<Piece> pieces = {exact_piece(cushion_top())};
  const double round = seam_length(read_seam_side("cushion top/2-4"), pieces).length;
  const double last = seam_length(read_seam_side("cushion top/4"), pieces).length;
  pieces.push_back(exact_piece(
      {"strip", {{0, 0}, {round, 0}, {round, 60}, {0, 60}}, {0, 0, 0, 0}, {{last - 320, last - 100}, {}, {}, {}}}));
  const std::vector<SeamReport> proposals = propose_seams({}, pieces);
  const auto first = std::find_if(proposals.begin(), proposals.end(),
                                  [](const SeamReport& p) { return takes(p.asked, read_seam_side("strip/1")); });
  ASSERT_NE(first, proposals.end());
  EXPECT_TRUE(takes(first->asked, read_seam_side("cushion top/2-4")));
  EXPECT_LE(first->confidence, 0.8);
}

}  // namespace
}  // namespace chalkfold::draft
