// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/reference/reference_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>
#include <tuple>

#include "pipeline/common/error.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/output/drawing/cutter_dxf.h"
#include "pipeline/output/drawing/dxf.h"
#include "pipeline/output/drawing/piece_dxf.h"
#include "pipeline/output/drawing/piece_svg.h"
#include "pipeline/output/drawing/svg.h"
#include "pipeline/output/json/panel_json.h"
#include "pipeline/output/json/piece_json.h"
#include "pipeline/output/reference/read_outline.h"
#include "tests/output/flag_panel.h"
#include "tests/output/flag_piece.h"

namespace chalkfold::output {
namespace {

using testing::HasSubstr;

// mm: files have 4 decimals, arcs are flattened to 0.01 mm and meet the points between
constexpr double written = 2e-3;
constexpr double flattened_to = 0.02;  // mm: two flattenings to 0.01 mm

std::string error_of(const std::string& bytes) {
  try {
    read_shape(bytes, "file", draft::PieceLine::cut);
  } catch (const FileError& e) {
    return e.what();
  }
  return "";
}

/// The shape moved so that its box starts at (0, 0).
Polyline from_origin(Polyline points) {
  const Vec2 low = geometry::bounding_box(points).min;
  for (Vec2& p : points) p -= low;
  return points;
}

double apart(const Polyline& a, const Polyline& b) {
  double worst = 0;
  for (const Vec2& p : a) worst = std::max(worst, geometry::distance_to(b, p, true));
  for (const Vec2& p : b) worst = std::max(worst, geometry::distance_to(a, p, true));
  return worst;
}

/// Both were unlike their mirror images to begin with: 10 mm and more.
void expect_same(const std::string& bytes, const Polyline& truth, const std::string& kind, double tolerance) {
  const draft::ComparedShape shape = read_shape(bytes, "file", draft::PieceLine::cut).shape;
  EXPECT_EQ(shape.kind, kind);
  EXPECT_GT(geometry::signed_area(shape.outline.points), 0);
  EXPECT_LT(apart(from_origin(shape.outline.points), from_origin(truth)), tolerance) << kind;
}

TEST(ReadShape, EveryFileOfAPanelComesBackUnmirrored) {
  const panel::Panel panel = test::flag_panel();
  PanelRecord record;
  record.panel = panel;
  expect_same(panel_json(record), panel.outline.points, "measured panel", written);
  expect_same(dxf_of(panel), panel.outline.points, "DXF outline", written);
  expect_same(svg_of(panel), panel.outline.points, "SVG outline", written);
}

TEST(ReadShape, EveryFileOfAPieceComesBackUnmirrored) {
  const draft::Piece piece = test::flag_piece();
  expect_same(piece_json_text(piece), piece.cut_line, "cut line of a piece", written);
  expect_same(piece_dxf(piece, {}), piece.cut_line, "DXF outline", flattened_to);
  expect_same(piece_svg(piece, {}), piece.cut_line, "SVG outline", flattened_to);
  expect_same(cutter_dxf(piece, {}), piece.cut_line, "DXF outline", flattened_to);
}

std::string dxf(const std::string& header, const std::string& entities) {
  return "0\nSECTION\n2\nHEADER\n" + header + "0\nENDSEC\n0\nSECTION\n2\nENTITIES\n" + entities + "0\nENDSEC\n0\nEOF\n";
}
const std::string mm = "9\n$INSUNITS\n70\n4\n", inch = "9\n$INSUNITS\n70\n1\n";

TEST(ReadDxf, LightPolylineWithABulge) {
  // 100 x 60 with a half circle (bulge 1, counter-clockwise) of radius 30 on its right.
  const std::string entity =
      "0\nLWPOLYLINE\n8\n1\n90\n4\n70\n1\n10\n0\n20\n0\n10\n100\n20\n0\n42\n1.0\n10\n100\n20\n60\n10\n0\n20\n60\n";
  const Polyline outline = read_shape(dxf(mm, entity), "f", draft::PieceLine::cut).shape.outline.points;
  EXPECT_NEAR(geometry::signed_area(outline), 6000 + M_PI * 450, 2);  // mm2: the arc as a polyline to 0.01 mm
  EXPECT_NEAR(geometry::bounding_box(outline).max.x(), 130, 1e-2);
  const Polyline inches = read_shape(dxf(inch, entity), "f", draft::PieceLine::cut).shape.outline.points;
  EXPECT_NEAR(geometry::bounding_box(inches).max.x(), 130 * 25.4, 1e-2);
}

TEST(ReadDxf, AnEntityDrawnFromBelowIsTurnedOver) {
  const std::string below =
      "0\nLWPOLYLINE\n8\n1\n90\n3\n70\n1\n210\n0\n220\n0\n230\n-1\n10\n0\n20\n0\n10\n-100\n20\n0\n10\n-100\n20\n60\n";
  const Polyline outline = read_shape(dxf(mm, below), "f", draft::PieceLine::cut).shape.outline.points;
  EXPECT_NEAR(geometry::bounding_box(outline).max.x(), 100, 1e-9);
  EXPECT_LT(geometry::distance_to(outline, {100, 60}, true), 1e-9);
}

TEST(ReadDxf, LinesAndArcsAreJoinedWhicheverWayTheyRun) {
  const std::string entities =
      "0\nLINE\n8\n0\n10\n0\n20\n0\n11\n100\n21\n0\n0\nLINE\n8\n0\n10\n0\n20\n60\n11\n0\n21\n0\n"
      "0\nARC\n8\n0\n10\n100\n20\n30\n40\n30\n50\n270\n51\n90\n0\nLINE\n8\n0\n10\n0\n20\n60\n11\n100\n21\n60\n";
  const Polyline outline = read_shape(dxf(mm, entities), "f", draft::PieceLine::cut).shape.outline.points;
  EXPECT_NEAR(geometry::signed_area(outline), 6000 + M_PI * 450, 2);
}

TEST(ReadDxf, AByteOrderMarkIsPassedOver) {
  const std::string entity = "0\nLWPOLYLINE\n8\n1\n70\n1\n10\n0\n20\n0\n10\n50\n20\n0\n10\n50\n20\n40\n";
  const Polyline outline =
      read_shape("\xEF\xBB\xBF" + dxf(mm, entity), "f", draft::PieceLine::cut).shape.outline.points;
  EXPECT_NEAR(geometry::signed_area(outline), 1000, 1e-6);
}

TEST(ReadDxf, LinesShorterThanTheReachBetweenEndsMakeOneOutline) {
  // An ellipse exploded into lines of about 0.02 mm, every second one drawn backwards.
  constexpr int parts = 10000;
  const auto at = [](int k, int x) {
    const double angle = 2 * M_PI * k / parts;
    return std::to_string(x) + "\n" + std::to_string(40 * std::cos(angle)) + "\n" + std::to_string(x + 10) + "\n" +
           std::to_string(25 * std::sin(angle)) + "\n";
  };
  std::string entities;
  for (int k = 0; k < parts; ++k)
    entities += "0\nLINE\n8\n1\n" + (k % 2 ? at(k + 1, 10) + at(k, 11) : at(k, 10) + at(k + 1, 11));
  const Polyline outline = read_dxf_outline(dxf(mm, entities), "f").outline;
  EXPECT_EQ(outline.size(), static_cast<std::size_t>(parts));
  EXPECT_NEAR(std::abs(geometry::signed_area(outline)), M_PI * 40 * 25, 0.1);  // mm2: coordinates have 6 decimals
}

TEST(ReadDxf, LayerOneGoesBeforeALargerOutline) {
  const std::string small = "0\nLWPOLYLINE\n8\n1\n70\n1\n10\n0\n20\n0\n10\n50\n20\n0\n10\n50\n20\n40\n",
                    large = "0\nLWPOLYLINE\n8\nframe\n70\n1\n10\n0\n20\n0\n10\n500\n20\n0\n10\n500\n20\n400\n";
  EXPECT_NEAR(
      geometry::signed_area(read_shape(dxf(mm, large + small), "f", draft::PieceLine::cut).shape.outline.points), 1000,
      1e-6);
  EXPECT_NEAR(geometry::signed_area(read_shape(dxf(mm, large), "f", draft::PieceLine::cut).shape.outline.points),
              100000, 1e-6);
}

/// A block with its base point at (x, y) that holds one rectangle from there on.
std::string block(const std::string& name, int x, int y, int length, int width) {
  const auto vertex = [](int px, int py) { return "10\n" + std::to_string(px) + "\n20\n" + std::to_string(py) + "\n"; };
  return "0\nBLOCK\n8\n0\n2\n" + name + "\n" + vertex(x, y) + "0\nLWPOLYLINE\n8\n1\n70\n1\n" + vertex(x, y) +
         vertex(x + length, y) + vertex(x + length, y + width) + vertex(x, y + width) + "0\nENDBLK\n";
}

std::string dxf_with_blocks(const std::string& blocks, const std::string& entities) {
  return "0\nSECTION\n2\nHEADER\n" + mm + "0\nENDSEC\n0\nSECTION\n2\nBLOCKS\n" + blocks +
         "0\nENDSEC\n0\nSECTION\n2\nENTITIES\n" + entities + "0\nENDSEC\n0\nEOF\n";
}

TEST(ReadDxf, EveryBlockKeepsItsOwnBasePoint) {
  const std::string blocks = block("A", 1000, 2000, 200, 100) + block("B", 300, 400, 50, 40);
  for (const auto& [name, length, width] : {std::tuple("A", 200.0, 100.0), std::tuple("B", 50.0, 40.0)}) {
    const std::string insert = std::string("0\nINSERT\n8\n1\n2\n") + name + "\n10\n10\n20\n20\n";
    const geometry::Box box = geometry::bounding_box(read_dxf_outline(dxf_with_blocks(blocks, insert), "f").outline);
    EXPECT_LT((box.min - Vec2(10, 20)).norm(), 1e-9) << name;
    EXPECT_LT((box.max - Vec2(10 + length, 20 + width)).norm(), 1e-9) << name;
  }
}

TEST(ReadDxf, ABlockInsertedFromBelowIsTurnedOverWithItsPlace) {
  // A triangle with its right angle at the base point; the insert's own x points to the left.
  const std::string triangle =
      "0\nBLOCK\n8\n0\n2\nT\n10\n5\n20\n5\n0\nLWPOLYLINE\n8\n1\n70\n1\n"
      "10\n5\n20\n5\n10\n105\n20\n5\n10\n5\n20\n65\n0\nENDBLK\n";
  const std::string insert = "0\nINSERT\n8\n1\n2\nT\n10\n20\n20\n10\n210\n0\n220\n0\n230\n-1\n";
  const Polyline outline = read_dxf_outline(dxf_with_blocks(triangle, insert), "f").outline;
  for (const Vec2& corner : {Vec2(-20, 10), Vec2(-120, 10), Vec2(-20, 70)})
    EXPECT_LT(geometry::distance_to(outline, corner, true), 1e-9) << corner.transpose();
}

TEST(ReadDxf, SaysWhenTheUnitIsAssumed) {
  const std::string entity = "0\nLWPOLYLINE\n8\n1\n70\n1\n10\n0\n20\n0\n10\n50\n20\n0\n10\n50\n20\n40\n";
  EXPECT_THAT(read_shape(dxf("", entity), "f", draft::PieceLine::cut).remark, HasSubstr("millimetres were taken"));
  EXPECT_EQ(read_shape(dxf("9\n$MEASUREMENT\n70\n1\n", entity), "f", draft::PieceLine::cut).remark, "");
  EXPECT_THAT(read_shape(dxf("9\n$MEASUREMENT\n70\n0\n", entity), "f", draft::PieceLine::cut).remark,
              HasSubstr("inches"));
}

std::string svg(const std::string& size, const std::string& body) {
  return "<svg xmlns=\"http://www.w3.org/2000/svg\" " + size + ">" + body + "</svg>";
}

TEST(ReadSvg, ScaleByWidthAndViewBoxAndYTurnedUp) {
  const std::string size = R"(width="200mm" height="100mm" viewBox="0 0 400 200")";
  const Polyline outline = read_shape(svg(size, "<g transform='translate(20 40)'><path d='M0 0 h100 v60 h-40 z'/></g>"),
                                      "f", draft::PieceLine::cut)
                               .shape.outline.points;
  const geometry::Box box = geometry::bounding_box(outline);
  EXPECT_NEAR(box.size().x(), 50, 1e-6);
  EXPECT_NEAR(box.size().y(), 30, 1e-6);
  // The corner that is drawn lower left of the slant comes out at the lower right's left: (30, 0) of the box, not (30, 30).
  EXPECT_LT(geometry::distance_to(from_origin(outline), {30, 0}, true), 1e-6);
  EXPECT_LT(geometry::distance_to(from_origin(outline), {0, 30}, true), 1e-6);
  EXPECT_GT(geometry::distance_to(from_origin(outline), {0, 0}, true), 10);
}

TEST(ReadSvg, ShapesCurvesAndArcs) {
  const std::string size = R"(width="300mm" height="300mm" viewBox="0 0 300 300")";
  const auto area = [&](const std::string& body) {
    return geometry::signed_area(read_shape(svg(size, body), "f", draft::PieceLine::cut).shape.outline.points);
  };
  EXPECT_NEAR(area(R"(<rect x="5" y="5" width="100" height="60"/>)"), 6000, 1e-6);
  // A quarter circle as one cubic leaves radius 50 by 0.014 mm, flattening takes up to 0.01 mm.
  constexpr double off_circle = 0.024;  // mm
  EXPECT_NEAR(area(R"(<circle cx="100" cy="100" r="50"/>)"), M_PI * 2500, off_circle * 2 * M_PI * 50);
  EXPECT_NEAR(area(R"(<polygon points="0,0 100,0 100,60"/>)"), 3000, 1e-6);
  EXPECT_NEAR(area(R"(<path d="M0 0 H100 A30 30 0 0 1 100 60 H0 Z"/>)"), 6000 + M_PI * 450, 2);
  EXPECT_NEAR(area(R"(<rect width="90" height="90"/><g id="layer-1"><rect width="20" height="30"/></g>)"), 600, 1e-6);
}

TEST(ReadShape, WhatCannotBeReadSaysWhatToDo) {
  EXPECT_THAT(error_of(""), HasSubstr("empty"));
  EXPECT_THAT(error_of("hello"), HasSubstr("600x450"));
  EXPECT_THAT(error_of("{\"schema\": \"other\"}"), HasSubstr("measured/NAME.json"));
  EXPECT_THAT(error_of("{\"schema\": "), HasSubstr("cut short"));
  EXPECT_THAT(error_of("0\nSECTION\n2\nENTITIES\n"), HasSubstr("cut short"));
  EXPECT_THAT(error_of("AutoCAD Binary DXF\r\n"), HasSubstr("ASCII"));
  EXPECT_THAT(error_of(dxf(mm, "0\nSPLINE\n8\n1\n")), HasSubstr("SPLINE"));
  EXPECT_THAT(error_of(dxf(mm, "0\nLINE\n8\n1\n10\n0\n20\n0\n11\n9\n21\n9\n")), HasSubstr("no closed outline"));
  EXPECT_THAT(error_of(dxf("9\n$INSUNITS\n70\n3\n", "")), HasSubstr("export it in mm"));
  EXPECT_THAT(error_of("<svg"), HasSubstr("cut short"));
  EXPECT_THAT(error_of("<html/>"), HasSubstr("not svg"));
  EXPECT_THAT(error_of(svg("width=\"600\" height=\"400\"", "")), HasSubstr("in mm"));
  EXPECT_THAT(error_of(svg("width=\"600mm\" height=\"400mm\"", "<path d='M0 0 L9'/>")), HasSubstr("again"));
  EXPECT_THAT(error_of(svg("width=\"600mm\" height=\"400mm\" viewBox=\"0 0 6 4\"", "<text>a</text>")),
              HasSubstr("no closed outline"));
  EXPECT_THAT(error_of(svg("width=\"60mm\" height=\"40mm\" viewBox=\"0 0 60 40\"", "<rect width='3' height='2'/>")),
              HasSubstr("unit"));
}

TEST(ReadDxf, ABlockThatHoldsItselfEnds) {
  const std::string blocks = "0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nB\n10\n0\n20\n0\n" + [] {
    std::string many;
    for (int i = 0; i < 50; ++i) many += "0\nINSERT\n8\n1\n2\nB\n10\n1\n20\n1\n";
    return many;
  }() + "0\nENDBLK\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n0\nINSERT\n2\nB\n0\nENDSEC\n0\nEOF\n";
  EXPECT_THAT(error_of(blocks), HasSubstr("no closed outline"));
}

TEST(ReadShape, MutatedFilesAreReadOrRefused) {
  constexpr int trials = 400;  // of each; anything but a FileError is a failure
  const std::string files[] = {piece_dxf(test::flag_piece(), {}), svg_of(test::flag_panel())};
  std::mt19937 random(7);
  int refused = 0;
  for (int k = 0; k < trials; ++k) {
    for (std::string bytes : files) {
      for (int change = 0; change < 4; ++change) {
        const std::size_t at = random() % bytes.size();
        if (random() % 3 == 0)
          bytes.erase(at, random() % 40);
        else
          bytes[at] = "0123456789.-eE\n <>/\"Z"[random() % 21];
      }
      try {
        const ReadShape read = read_shape(bytes, "file", draft::PieceLine::cut);
        EXPECT_GE(read.shape.outline.points.size(), 3u);
      } catch (const FileError&) {
        ++refused;
      }
    }
  }
  EXPECT_GT(refused, trials / 10);
}

TEST(ComparedWith, WhatCannotBeComparedIsARefusalInWords) {
  const draft::ComparedShape square = draft::compared_line({{0, 0}, {100, 0}, {100, 100}, {0, 100}}, "square", "drawn");
  draft::ComparedShape nothing = square;
  nothing.outline = {};
  const draft::DimensionalChange change = compared_with(nothing, square);
  EXPECT_FALSE(change.done);
  ASSERT_EQ(change.faults.size(), 1u);
  EXPECT_EQ(change.faults[0].code, "comparison-failed");
  EXPECT_EQ(change.faults[0].severity, Severity::refusal);
  EXPECT_TRUE(compared_with(draft::NominalSize{100, 100}, square).done);
}

TEST(ParseSize, TakesTwoNumbers) {
  const auto size = parse_size("600x450.5");
  ASSERT_TRUE(size);
  EXPECT_EQ(size->length, 600);
  EXPECT_EQ(size->width, 450.5);
  EXPECT_TRUE(parse_size("600 X 450 mm"));
  for (const char* text : {"600", "600x", "x450", "panel.json", "600x450x3", "-600x450", "6e2x450"})
    EXPECT_FALSE(parse_size(text)) << text;
  EXPECT_THROW(parse_size("600x0"), UsageError);
}

}  // namespace
}  // namespace chalkfold::output
