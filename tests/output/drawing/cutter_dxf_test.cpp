// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/cutter_dxf.h"

#include <gtest/gtest.h>

#include <set>

#include "tests/output/dxf_reader.h"
#include "tests/output/flag_piece.h"

namespace chalkfold::output {

namespace {
using test::on_layer;
using test::read_dxf_entities;

constexpr double decimals = 1.5e-4;      // mm: four decimals are written of each coordinate
constexpr double area_tolerance = 1e-4;  // relative, what the files answer to

test::DxfEntity cut_line(const draft::Piece& piece, const CutterOptions& options = {}) {
  const auto lines = on_layer(read_dxf_entities(cutter_dxf(piece, options)), "POLYLINE", "cut");
  if (lines.empty()) throw std::logic_error("nothing to cut");
  return lines[0];  // cutters take the first closed line, so it is written first
}
}  // namespace

TEST(CutterDxf, HasTwoLayersAndOnlyLinesAndCircles) {
  for (const auto& entity : read_dxf_entities(cutter_dxf(test::flag_piece()))) {
    EXPECT_TRUE(entity.text(8) == "cut" || entity.text(8) == "draw") << entity.text(8);
    EXPECT_TRUE(entity.type == "POLYLINE" || entity.type == "CIRCLE") << entity.type;
    EXPECT_EQ(entity.block, "");
  }
}

TEST(CutterDxf, CutsTheCutLineNotchCutOutAndHole) {
  const auto entities = read_dxf_entities(cutter_dxf(test::flag_piece()));
  const auto cut = on_layer(entities, "POLYLINE", "cut");
  ASSERT_EQ(cut.size(), 3u) << "cut line, notch, cut-out";
  EXPECT_EQ(cut[0].text(70), "1");
  EXPECT_EQ(cut[1].text(70), "0");
  EXPECT_EQ(cut[1].points(), (Polyline{{240, 58}, {236, 60}, {240, 62}}));
  EXPECT_EQ(cut[2].text(70), "1");
  const auto holes = on_layer(entities, "CIRCLE", "cut");
  ASSERT_EQ(holes.size(), 1u);
  EXPECT_EQ(holes[0].at(), Vec2(215, 30));
  EXPECT_EQ(holes[0].number(40), 1.5);
}

TEST(CutterDxf, ASlitIsOneLine) {
  draft::Piece piece = test::flag_piece();
  piece.marks[0].shape = panel::NotchShape::slit;
  EXPECT_EQ(on_layer(read_dxf_entities(cutter_dxf(piece)), "POLYLINE", "cut")[1].points(),
            (Polyline{{240, 60}, {236, 60}}));
}

TEST(CutterDxf, BulgesReadBackToTheSameArc) {
  const draft::Piece piece = test::flag_piece();
  const test::DxfEntity line = cut_line(piece);
  const Polyline points = line.points();
  ASSERT_EQ(points.size(), piece.cut.size());
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (i == 1) continue;
    EXPECT_EQ(line.bulge(i), 0) << i;
  }
  EXPECT_LT(line.bulge(1), 0) << "the bay runs clockwise";
  // A bulge is the arc's sagitta over half its chord, right of the chord when positive.
  const Vec2 chord = points[2] - points[1], right(chord.y() / chord.norm(), -chord.x() / chord.norm());
  const double sagitta = line.bulge(1) * 0.5 * chord.norm();
  const Vec2 top = 0.5 * (points[1] + points[2]) + sagitta * right;
  const Vec2 origin = geometry::bounding_box(piece.cut_line).min;
  EXPECT_LT((top + origin - piece.cut[1].at(0.5)).norm(), decimals);
  const double half = 0.5 * chord.norm(), radius = (half * half + sagitta * sagitta) / (2 * std::abs(sagitta));
  EXPECT_NEAR(radius, test::flag_arc_radius, 10 * decimals) << "a shallow arc's radius is softer than its points";
  EXPECT_NEAR(test::area_of(line), test::flag_area(), area_tolerance * test::flag_area());
}

TEST(CutterDxf, AnArcOfMoreThanHalfACircleIsParted) {
  draft::Piece disc;
  disc.name = "disc";
  disc.cut = {test::arc_segment({50, 0}, {50, 0}, {0, 0}, true)};
  disc.cut_line = geometry::flattened(disc.cut, 0.01);
  disc.cut_line.pop_back();
  const test::DxfEntity line = cut_line(disc);
  ASSERT_EQ(line.vertices.size(), 2u);
  EXPECT_NEAR(line.bulge(0), 1, 1e-9);
  EXPECT_NEAR(test::area_of(line), 2500 * std::numbers::pi, area_tolerance * 2500 * std::numbers::pi);
}

TEST(CutterDxf, PolylinesStayWithinTheTolerance) {
  const draft::Piece piece = test::flag_piece();
  const test::DxfEntity line = cut_line(piece, {.arcs = false});
  const Polyline points = line.points();
  EXPECT_GT(points.size(), piece.cut.size() + 5);
  const Vec2 centre = piece.cut[1].centre - geometry::bounding_box(piece.cut_line).min;
  double worst = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    EXPECT_EQ(line.bulge(i), 0);
    const Vec2 middle = 0.5 * (points[i] + points[(i + 1) % points.size()]);
    if (middle.y() < 0.01 || std::abs(middle.x() - 120) > 30 || middle.y() > 20) continue;  // not in the bay
    worst = std::max(worst, std::abs((middle - centre).norm() - test::flag_arc_radius));
  }
  EXPECT_GT(worst, 0) << "no chord of the bay was seen";
  EXPECT_LE(worst, 0.05 + decimals);
}

TEST(CutterDxf, TheSewLineIsDrawnByOption) {
  const auto drawn = [](bool sew) {
    return on_layer(read_dxf_entities(cutter_dxf(test::flag_piece(), {.sew_line = sew})), "POLYLINE", "draw").size();
  };
  EXPECT_EQ(drawn(true), drawn(false) + 1);
  EXPECT_GT(drawn(false), 20u) << "match mark, grain with its head, check square and lettering";
}

TEST(CutterDxf, IsMirroredOnlyWhenTheFaceIsAskedFor) {
  for (const bool face : {false, true}) {
    const Polyline boundary = cut_line(test::flag_piece(), {.face = face, .arcs = false}).points();
    EXPECT_GT(geometry::signed_area(boundary), 0);
    EXPECT_FALSE(geometry::contains(boundary, test::bay));
    EXPECT_EQ(geometry::contains(boundary, test::slant), face);
    EXPECT_EQ(geometry::contains(boundary, test::slant_mirrored), !face);
    const double area = test::area_of(cut_line(test::flag_piece(), {.face = face}));
    EXPECT_NEAR(area, test::flag_area(), area_tolerance * test::flag_area());
  }
}

TEST(CutterDxf, RefusesAnOpenCutLine) {
  draft::Piece piece = test::flag_piece();
  piece.cut.pop_back();
  EXPECT_THROW(cutter_dxf(piece), std::logic_error);
}

}  // namespace chalkfold::output
