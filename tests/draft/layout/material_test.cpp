// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/layout/material.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <numbers>

#include "pipeline/common/error.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::draft {
namespace {

constexpr double angle_tolerance = 1e-9;   // rad, rounding of doubles
constexpr double area_tolerance = 1e-6;    // mm2, the same
constexpr double length_tolerance = 0.02;  // mm, twice what a place may be off

/// A rectangle with a corner cut off, so that it has no mirror image equal to itself; 10 mm of allowance around.
Piece piece(const std::string& name, double along, double across, const std::string& material = "cloth") {
  Piece out;
  out.name = name;
  out.material = material;
  out.sew_line = {{10, 10}, {along - 10, 10}, {along - 10, across - 10}, {10, across - 10}};
  out.cut_line = {{0, 0}, {along, 0}, {along, across - 30}, {along - 40, across}, {0, across}};
  out.grain = {{Vec2(20, 20), Vec2(60, 20)}};
  return out;
}

std::map<std::string, MaterialOptions> of_kind(MaterialKind kind) {
  MaterialOptions options;
  options.kind = kind;
  return {{"cloth", options}};
}

/// Where a copy's grain points on the roll, rad.
double grain_on_roll(const LaidCopy& copy) {
  const geometry::Rigid2 place = copy.place.roll_from_piece();
  const Vec2 d = place * (*copy.grain)[1] - place * (*copy.grain)[0];
  return std::atan2(d.y(), d.x());
}

TEST(Material, AreasAreOfAllCopies) {
  Piece a = piece("a", 300, 200), b = piece("b", 100, 100);
  a.quantity = 3;
  const auto needs = material_needs({a, b}, of_kind(MaterialKind::woven));
  ASSERT_EQ(needs.size(), 1u);
  EXPECT_NEAR(needs[0].pieces[0].net, 280 * 180, area_tolerance);
  EXPECT_NEAR(needs[0].pieces[0].cut, 300 * 200 - 40 * 30 / 2, area_tolerance);
  EXPECT_NEAR(needs[0].net_area, 3 * 280 * 180 + 80 * 80, area_tolerance);
  EXPECT_NEAR(needs[0].cut_area, 3 * 59400 + 9400, area_tolerance);
  EXPECT_EQ(needs[0].copies.size(), 4u);
  EXPECT_LE(needs[0].cut_area, needs[0].roll_area);
  EXPECT_NEAR(needs[0].roll_share, needs[0].cut_area / needs[0].roll_area, 1e-9);
}

TEST(Material, WovenKeepsADirectedGrainOneWay) {
  std::vector<Piece> pieces;
  for (int i = 0; i < 5; ++i) {
    pieces.push_back(piece(std::to_string(i), 300, 200));
    const Vec2 at(150, 100), d(std::cos(0.9 * i), std::sin(0.9 * i));
    pieces.back().grain = {{at, at + 50 * d}};
  }
  const auto needs = material_needs(pieces, of_kind(MaterialKind::woven));
  for (const LaidCopy& copy : needs[0].copies) EXPECT_NEAR(grain_on_roll(copy), 0, angle_tolerance);
}

TEST(Material, ArtificialLeatherAndUndirectedGrainLieEitherWayNeverAskew) {
  Piece undirected = piece("a", 300, 200);
  undirected.grain_directed = false;
  undirected.quantity = 6;
  for (const auto kind : {MaterialKind::woven, MaterialKind::artificial_leather}) {
    const auto needs = material_needs({undirected}, of_kind(kind));
    for (const LaidCopy& copy : needs[0].copies)
      EXPECT_NEAR(std::remainder(grain_on_roll(copy), std::numbers::pi), 0, angle_tolerance);
    EXPECT_EQ(needs[0].copies[0].asked.turns.size(), 2u);
  }
}

TEST(Material, EitherWayClothHeedsNoArrowHead) {
  auto options = of_kind(MaterialKind::woven);
  EXPECT_EQ(material_needs({piece("a", 300, 200)}, options)[0].copies[0].asked.turns.size(), 1u);
  options["cloth"].either_way = true;
  EXPECT_EQ(material_needs({piece("a", 300, 200)}, options)[0].copies[0].asked.turns.size(), 2u);
}

TEST(Material, TheLastOfAMirroredQuantityIsTheMirrorImage) {
  Piece pair = piece("pair", 300, 200);
  pair.quantity = 2;
  pair.one_mirrored = true;
  const auto needs = material_needs({pair}, of_kind(MaterialKind::woven));
  ASSERT_EQ(needs[0].copies.size(), 2u);
  EXPECT_FALSE(needs[0].copies[0].mirrored);
  EXPECT_TRUE(needs[0].copies[1].mirrored);
  // The cut corner lies ahead on the left of the grain of the one, on the right of the other.
  const auto corner_side = [&](const LaidCopy& copy) {
    const Polyline laid = outline_on_roll(copy.asked, copy.place);
    return geometry::centroid(laid).y() - geometry::bounding_box(laid).centre().y();
  };
  EXPECT_LT(corner_side(needs[0].copies[0]), -0.5);
  EXPECT_GT(corner_side(needs[0].copies[1]), 0.5);
  EXPECT_GT(geometry::signed_area(needs[0].copies[1].asked.outline), 0);
}

TEST(Material, APieceShownFaceUpIsTurnedOverToLieInsideUp) {
  Piece inside = piece("a", 300, 200), face = inside;
  face.side = Side::face;
  const auto needs_inside = material_needs({inside}, of_kind(MaterialKind::woven));
  const auto needs_face = material_needs({face}, of_kind(MaterialKind::woven));
  const auto& a = needs_inside[0].copies[0];
  const auto& b = needs_face[0].copies[0];
  const double low = geometry::centroid(outline_on_roll(a.asked, a.place)).y(),
               high = geometry::centroid(outline_on_roll(b.asked, b.place)).y();
  EXPECT_LT(low, 99.5);    // the cut corner, ahead on the left, moves the middle by 0.9 mm
  EXPECT_GT(high, 100.5);  // ... and on the right
}

TEST(Material, HidesAreTheCutAreaOverTheUsableFraction) {
  Piece seats = piece("seats", 1790, 2000, "cloth");  // two front seats, about 3.6 m2
  seats.cut_line = {{0, 0}, {1790, 0}, {1790, 2000}, {0, 2000}};
  auto options = of_kind(MaterialKind::leather);
  options["cloth"].roll_width = 2200;
  const auto needs = material_needs({seats}, options);
  ASSERT_TRUE(needs[0].hides);
  EXPECT_NEAR(needs[0].hides->area, 3.58e6 / 0.65, 1);
  EXPECT_NEAR(needs[0].hides->area / mm2_per_m2, 5.5, 0.05);  // about one hide of 5.5 m2
  EXPECT_EQ(needs[0].hides->hides, 2);                        // 5.508 m2: a little over one, so two
  EXPECT_NEAR(needs[0].hides->area / mm2_per_ft2, 59.28, 0.01);
  options["cloth"].hide_area = 5.6e6;
  EXPECT_EQ(material_needs({seats}, options)[0].hides->hides, 1);
  EXPECT_FALSE(material_needs({seats}, of_kind(MaterialKind::woven))[0].hides);
}

TEST(Material, LeatherMayBeTurnedAQuarter) {
  Piece band = piece("band", 300, 1500);
  const auto needs = material_needs({band}, of_kind(MaterialKind::leather));
  EXPECT_TRUE(needs[0].copies[0].place.placed);
  EXPECT_NEAR(needs[0].roll_length, 1500, length_tolerance);
}

TEST(Material, APieceTooWideIsToldByNameAndNotCounted) {
  const auto needs = material_needs({piece("wide one", 300, 1500), piece("b", 200, 100)}, of_kind(MaterialKind::woven));
  ASSERT_EQ(needs[0].faults.size(), 1u);
  EXPECT_EQ(needs[0].faults[0].code, "piece-too-wide");
  EXPECT_EQ(needs[0].faults[0].panel, "wide one");
  EXPECT_THAT(needs[0].faults[0].seen, testing::HasSubstr("1500 mm"));
  EXPECT_NEAR(needs[0].roll_length, 200, length_tolerance);
  EXPECT_NEAR(needs[0].cut_area, 300 * 1500 - 600 + 20000 - 600, area_tolerance);  // it is needed all the same
}

TEST(Material, WithoutGrainTheAxisOrTheLongSideLiesAlongTheRollAndIsTold) {
  Piece axis = piece("axis", 300, 200), none = piece("none", 200, 300);
  axis.grain.reset();
  none.grain.reset();
  axis.axis = {{Vec2(150, 0), Vec2(150, 200)}};
  const auto needs = material_needs({axis, none}, of_kind(MaterialKind::woven));
  EXPECT_NEAR(std::abs(needs[0].copies[0].asked.turns[0]), std::numbers::pi / 2, angle_tolerance);
  EXPECT_NEAR(std::abs(needs[0].copies[1].asked.turns[0]), std::numbers::pi / 2, angle_tolerance);
  ASSERT_EQ(needs[0].faults.size(), 2u);
  EXPECT_EQ(needs[0].faults[0].code, "grain-missing");
  EXPECT_THAT(needs[0].faults[0].seen, testing::HasSubstr("fold axis"));
  EXPECT_THAT(needs[0].faults[1].seen, testing::HasSubstr("longer side"));
  EXPECT_TRUE(material_needs({axis, none}, of_kind(MaterialKind::leather))[0].faults.empty());
}

TEST(Material, AnUnknownKindIsToldAndLaidStraight) {
  const auto needs = material_needs({piece("a", 300, 200)});
  ASSERT_EQ(needs[0].faults.size(), 1u);
  EXPECT_EQ(needs[0].faults[0].code, "material-kind-not-given");
  EXPECT_EQ(needs[0].copies[0].asked.turns.size(), 2u);
}

TEST(Material, EveryMaterialHasItsOwnRollAndPiecesWithoutOneNone) {
  Piece refused = piece("refused", 100, 100);
  refused.faults.push_back({"draft-failed", Severity::refusal, {}, {}, {}, {}});
  const auto needs = material_needs({piece("a", 300, 200, "b"), piece("b", 300, 200, "a"), piece("c", 300, 200, "b"),
                                     piece("d", 300, 200, ""), refused});
  ASSERT_EQ(needs.size(), 2u);
  EXPECT_EQ(needs[0].material, "b");
  EXPECT_EQ(needs[0].pieces.size(), 2u);
  EXPECT_EQ(needs[1].material, "a");
}

TEST(Material, UsableWidthIsHeeded) {
  auto options = of_kind(MaterialKind::woven);
  options["cloth"].usable_width = 150;
  EXPECT_EQ(material_needs({piece("a", 300, 200)}, options)[0].faults[0].code, "piece-too-wide");
  options["cloth"].usable_width = 1500;
  EXPECT_THROW(material_needs({piece("a", 300, 200)}, options), UsageError);
}

TEST(LongSideAngle, IsThatOfTheSmallestRectangle) {
  for (const double angle : {-1.2, 0.0, 0.4, 1.5}) {
    Polyline line;
    for (const Vec2& p : {Vec2(0, 0), Vec2(300, 0), Vec2(300, 80), Vec2(0, 80)})
      line.push_back(geometry::Rigid2{angle, {5, 7}} * p);
    EXPECT_NEAR(std::remainder(long_side_angle(line) - angle, std::numbers::pi), 0, angle_tolerance);
  }
}

}  // namespace
}  // namespace chalkfold::draft
