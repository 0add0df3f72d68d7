// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/layout/roll_layout.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <numbers>

#include "pipeline/common/error.h"
#include "tests/draft/laid_set.h"

namespace chalkfold::draft {
namespace {

using drawn::laid_set;
constexpr double length_tolerance = 0.02;  // mm, twice what a place may be off
const std::vector<double> straight = {0, std::numbers::pi};

RollPiece rectangle(double along, double across) {
  return {{{0, 0}, {along, 0}, {along, across}, {0, across}}, straight};
}

TEST(RollLayout, OfASetHasNoFaultsAndIsShorterThanRowByRow) {
  const std::vector<RollPiece> pieces = laid_set(straight);
  const RollLayout layout = roll_layout(pieces);
  EXPECT_THAT(layout_faults(pieces, layout, {}), testing::IsEmpty());
  for (const RollPlace& place : layout.places) EXPECT_TRUE(place.placed);
  EXPECT_LE(layout.piece_area, layout.roll_area);
  EXPECT_GT(layout.share(), 0.6);  // row by row has 0.48 of this set
}

TEST(RollLayout, RectanglesThatFillTheWidthNeedTheirOwnLength) {
  const std::vector<RollPiece> pieces(4, rectangle(300, 699));
  const RollLayout layout = roll_layout(pieces);
  EXPECT_NEAR(layout.length, 2 * 300 + 2, length_tolerance);
  EXPECT_TRUE(layout_faults(pieces, layout, {}).empty());
}

TEST(RollLayout, APieceAsWideAsTheRollIsLaid) {
  const std::vector<RollPiece> pieces = {rectangle(300, 1400), rectangle(200, 100)};
  const RollLayout layout = roll_layout(pieces);
  EXPECT_TRUE(layout.places[0].placed);
  EXPECT_NEAR(layout.length, 502, length_tolerance);
  EXPECT_TRUE(layout_faults(pieces, layout, {}).empty());
}

TEST(RollLayout, APieceThatIsTooWideIsLeftOutAndTheOthersLaid) {
  const std::vector<RollPiece> pieces = {rectangle(300, 1401), rectangle(200, 100)};
  const RollLayout layout = roll_layout(pieces);
  EXPECT_FALSE(layout.places[0].placed);
  EXPECT_TRUE(layout.places[1].placed);
  EXPECT_NEAR(layout.piece_area, 20000, 1e-6);
  EXPECT_NEAR(layout.length, 200, length_tolerance);
}

TEST(RollLayout, AWidePieceThatMayBeTurnedIsTurned) {
  RollPiece piece = rectangle(300, 1600);
  piece.turns = {0, std::numbers::pi / 2};
  const RollLayout layout = roll_layout({piece});
  EXPECT_TRUE(layout.places[0].placed);
  EXPECT_NEAR(layout.length, 1600, length_tolerance);
}

TEST(RollLayout, EveryPieceLiesAtATurnOfItsOwn) {
  std::vector<RollPiece> pieces = laid_set(straight);
  for (std::size_t i = 0; i < pieces.size(); ++i) pieces[i].turns = {0.1 * static_cast<double>(i)};
  const RollLayout layout = roll_layout(pieces);
  for (std::size_t i = 0; i < pieces.size(); ++i) EXPECT_EQ(layout.places[i].turn, pieces[i].turns.front());
  EXPECT_TRUE(layout_faults(pieces, layout, {}).empty());
}

TEST(RollLayout, IsTheSameEachTime) {
  const std::vector<RollPiece> pieces = laid_set(straight);
  const RollLayout one = roll_layout(pieces), other = roll_layout(pieces);
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    EXPECT_EQ(one.places[i].turn, other.places[i].turn);
    EXPECT_EQ(one.places[i].shift, other.places[i].shift);
  }
}

TEST(RollLayout, OfMorePiecesThanAreSearchedHasThemAll) {
  const std::vector<RollPiece> pieces(60, rectangle(90, 70));
  RollOptions options;
  options.width = 800;
  const RollLayout layout = roll_layout(pieces, options);
  for (const RollPlace& place : layout.places) EXPECT_TRUE(place.placed);
  EXPECT_TRUE(layout_faults(pieces, layout, options).empty());
}

TEST(LayoutFaults, TellOverlapGapEdgeAndTurn) {
  const std::vector<RollPiece> pieces(2, rectangle(100, 100));
  RollLayout layout;
  layout.length = 300;
  layout.places = {{true, 0, {0, 0}}, {true, 0, {50, 50}}};
  EXPECT_THAT(layout_faults(pieces, layout, {}), testing::ElementsAre(testing::HasSubstr("overlap by 2500.00 mm2")));
  layout.places[1].shift = {101, 0};
  EXPECT_THAT(layout_faults(pieces, layout, {}), testing::ElementsAre(testing::HasSubstr("1.00 mm apart")));
  layout.places[1].shift = {102, 0};
  EXPECT_THAT(layout_faults(pieces, layout, {}), testing::IsEmpty());
  layout.places[1].shift = {150, 1301};
  EXPECT_THAT(layout_faults(pieces, layout, {}), testing::ElementsAre(testing::HasSubstr("beside the roll")));
  layout.places[1] = {true, std::numbers::pi / 2, {250, 0}};
  EXPECT_THAT(layout_faults(pieces, layout, {}), testing::ElementsAre(testing::HasSubstr("may not have")));
}

TEST(RollLayout, RefusesOptionsOutOfBounds) {
  RollOptions options;
  options.width = 50;
  EXPECT_THROW(roll_layout({rectangle(10, 10)}, options), UsageError);
  options = {};
  options.gap = -1;
  EXPECT_THROW(roll_layout({rectangle(10, 10)}, options), UsageError);
}

}  // namespace
}  // namespace chalkfold::draft
