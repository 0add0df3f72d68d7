// SPDX-License-Identifier: Apache-2.0
// Files of pieces read by programs that share nothing with ours: ezdxf and shapely (DXF), rsvg-convert (SVG) and LibreCAD (DXF
// drawn). Bounds of the DXF stand in check_piece_dxf.py.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <numbers>
#include <opencv2/core.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <random>

#include "pipeline/output/drawing/cutter_dxf.h"
#include "pipeline/output/drawing/dxf_groups.h"
#include "pipeline/output/drawing/piece_dxf.h"
#include "pipeline/output/drawing/piece_svg.h"
#include "pipeline/output/drawing/set_drawing.h"
#include "tests/common/run_program.h"
#include "tests/output/flag_piece.h"

namespace chalkfold {

namespace {
using Json = nlohmann::json;

Json as_json(const Vec2& p) { return {p.x(), p.y()}; }

Json wanted_flag(bool face) {
  return {{"area", test::flag_area()},
          {"inside", {as_json(face ? test::slant : test::slant_mirrored), as_json(test::bay_mirrored)}},
          {"outside", {as_json(face ? test::slant_mirrored : test::slant), as_json(test::bay)}},
          {"layers", Json::array()}};
}

test::ProgramRun check(const std::string& kind, const std::string& dxf, const Json& wanted) {
  const test::TemporaryFolder folder;
  test::write_whole(folder / "file.dxf", dxf);
  test::write_whole(folder / "wanted.json", wanted.dump());
  return test::run_program({CHALKFOLD_PYTHON, std::string(CHALKFOLD_SOURCE_DIR) + "/tests/outside/check_piece_dxf.py",
                            kind, (folder / "file.dxf").string(), (folder / "wanted.json").string()});
}

Json wanted_exchange(bool face) {
  Json wanted = wanted_flag(face);
  wanted["block"] = "FLAG";
  wanted["layers"] = {"1", "2", "4", "7", "8", "11", "13", "14", "15"};
  wanted["texts"] = {"flag", face ? "face up" : "inside up", face ? "Annotation: face up" : "Annotation: inside up",
                     "Piece Name: flag", "Annotation: unit mm"};
  return wanted;
}

Json wanted_cutter(bool face, bool arcs) {
  Json wanted = wanted_flag(face);
  wanted["layers"] = {"cut", "draw"};
  wanted["arcs"] = Json::array();
  if (arcs) wanted["arcs"].push_back({{"centre", as_json({120, -test::flag_bay})}, {"radius", test::flag_arc_radius}});
  return wanted;
}

/// A star-shaped polygon with a few rounded places, somewhere in the plane.
draft::Piece random_piece(std::mt19937& random, int number) {
  const auto between = [&random](double low, double high) {
    return low + (high - low) * static_cast<double>(random()) / 4294967296.0;
  };
  draft::Piece piece;
  piece.name = fmt::format("piece {}", number);
  piece.quantity = 1 + static_cast<int>(random() % 3);
  piece.one_mirrored = random() % 2 == 0;
  const Vec2 middle(between(-500, 500), between(-500, 500));
  const int corners = 5 + static_cast<int>(random() % 8);
  const double wide = between(20, 300), high = between(20, 300);
  for (int i = 0; i < corners; ++i) {
    const double angle = 2 * std::numbers::pi * (i + between(0, 0.7)) / corners, out = between(0.4, 1);
    piece.cut_line.push_back(middle + Vec2(wide * out * std::cos(angle), high * out * std::sin(angle)));
  }
  for (std::size_t i = 0; i < piece.cut_line.size(); ++i) {
    piece.cut.push_back(test::line_segment(piece.cut_line[i], piece.cut_line[(i + 1) % piece.cut_line.size()]));
  }
  return piece;
}

/// Rasterised line drawing, and where its lines' box lies.
struct Picture {
  cv::Mat grey;
  cv::Rect box;
  /// The part of the box's area that no line parts from the outside.
  double outside_share() const {
    cv::Mat padded;
    cv::copyMakeBorder(grey(box) >= dark, padded, 1, 1, 1, 1, cv::BORDER_CONSTANT, cv::Scalar(255));
    cv::floodFill(padded, {0, 0}, cv::Scalar(77), nullptr, 0, 0, 4);
    return (cv::countNonZero(padded == 77) - 2.0 * (padded.cols + padded.rows) + 4) / static_cast<double>(box.area());
  }
  /// Dark within a few pixels of a place given in parts of the box, y up?
  bool dark_near(double x, double y) const {
    const cv::Point at(box.x + static_cast<int>(x * (box.width - 1)),
                       box.y + static_cast<int>((1 - y) * (box.height - 1)));
    const cv::Rect around = cv::Rect(at.x - 4, at.y - 4, 9, 9) & cv::Rect(0, 0, grey.cols, grey.rows);
    return cv::countNonZero(grey(around) < dark) > 0;
  }
  static constexpr int dark = 160;
};

/// The DXF printed by LibreCAD to a page that it fills to 10 mm from its edges, black lines only, 150 dpi.
Picture drawn_by_librecad(const std::string& dxf) {
  const test::TemporaryFolder folder;
  test::write_whole(folder / "piece.dxf", dxf);
  const test::ProgramRun run = test::run_program(
      {CHALKFOLD_ENV, "QT_QPA_PLATFORM=offscreen", "HOME=" + folder.path().string(), CHALKFOLD_LIBRECAD, "dxf2pdf",
       "-a", "-m", "-f", "10,10,10,10", "-o", (folder / "piece.pdf").string(), (folder / "piece.dxf").string()});
  EXPECT_EQ(run.exit, 0) << run.out << run.err;
  const test::ProgramRun raster = test::run_program({CHALKFOLD_PDFTOPPM, "-r", "150", "-gray", "-singlefile",
                                                     (folder / "piece.pdf").string(), (folder / "piece").string()});
  EXPECT_EQ(raster.exit, 0) << raster.err;
  Picture picture;
  picture.grey = cv::imread((folder / "piece.pgm").string(), cv::IMREAD_GRAYSCALE);
  if (picture.grey.empty()) throw std::logic_error("LibreCAD drew nothing");
  picture.box = cv::boundingRect(picture.grey < Picture::dark);
  return picture;
}

void expect_flag(const Picture& picture, bool face) {
  constexpr double px = 3;  // a line's own width and the rounding of either end
  EXPECT_NEAR(picture.box.height, picture.box.width * test::flag_height / test::flag_width, px);
  const double outside = 1 - test::flag_area() / (test::flag_width * test::flag_height);
  EXPECT_NEAR(picture.outside_share(), outside, 2 * px / picture.box.height);
  EXPECT_EQ(picture.dark_near(1, 1), face) << "upper right corner is cut off, the face's upper left";
  EXPECT_EQ(picture.dark_near(0, 1), !face);
  EXPECT_TRUE(picture.dark_near(0, 0));
  EXPECT_TRUE(picture.dark_near(1, 0));
  EXPECT_FALSE(picture.dark_near(0.5, 0)) << "the bay";
  EXPECT_TRUE(picture.dark_near(0.5, 10 / test::flag_height)) << "the bay's arc";
}

/// Coverage (0..1) of the boundary's inside by rsvg-convert at 10 px a mm: the first group filled and nothing else drawn.
cv::Mat filled_by_rsvg(const std::string& svg) {
  std::string first = svg.substr(0, svg.find("</g>") + 4) + "</svg>";
  const std::string lines = "fill=\"none\" stroke=\"#000000\"";
  first.replace(first.find(lines), lines.size(), "fill=\"#000000\" stroke=\"none\"");
  const test::TemporaryFolder folder;
  test::write_whole(folder / "piece.svg", first);
  const test::ProgramRun run =
      test::run_program({CHALKFOLD_RSVG, "--dpi-x", "254", "--dpi-y", "254", "--format", "png", "--output",
                         (folder / "piece.png").string(), (folder / "piece.svg").string()});
  EXPECT_EQ(run.exit, 0) << run.err;
  const cv::Mat picture = cv::imread((folder / "piece.png").string(), cv::IMREAD_UNCHANGED);
  if (picture.channels() != 4) throw std::logic_error("no transparent picture came back");
  cv::Mat alpha;
  cv::extractChannel(picture, alpha, 3);
  alpha.convertTo(alpha, CV_64F, 1.0 / 255);
  return alpha;
}
}  // namespace

TEST(PieceFilesByEzdxf, ExchangeInsideAndFace) {
  for (const bool face : {false, true}) {
    const test::ProgramRun run =
        check("exchange", output::piece_dxf(test::flag_piece(), {face}), wanted_exchange(face));
    EXPECT_EQ(run.exit, 0) << run.out << run.err;
  }
}

TEST(PieceFilesByEzdxf, CutterInsideAndFaceWithArcsAndPolylines) {
  for (const bool face : {false, true}) {
    for (const bool arcs : {false, true}) {
      const test::ProgramRun run =
          check("cutter", output::cutter_dxf(test::flag_piece(), {.face = face, .arcs = arcs, .arc_tolerance = 0.05}),
                wanted_cutter(face, arcs));
      EXPECT_EQ(run.exit, 0) << "arcs " << arcs << ": " << run.out << run.err;
    }
  }
}

TEST(PieceFilesByEzdxf, TheChecksSeeAMirroredFile) {
  EXPECT_EQ(check("exchange", output::piece_dxf(test::flag_piece(), {true}), wanted_exchange(false)).exit, 1);
  EXPECT_EQ(check("cutter", output::cutter_dxf(test::flag_piece(), {.face = true}), wanted_cutter(false, true)).exit,
            1);
}

TEST(PieceFilesByEzdxf, NamesOfManyScripts) {
  const std::string name =
      "R\xC3\xBC"
      "cken \xE5\xBA\xA7 100 %%d \\U+0041 ^J \"left\" <1>";
  Json wanted = wanted_exchange(false);
  wanted["block"] = output::dxf_block_name(name);
  wanted["texts"] = {name, "Piece Name: " + name};
  const test::ProgramRun run = check("exchange", output::piece_dxf(test::flag_piece(name)), wanted);
  EXPECT_EQ(run.exit, 0) << run.out << run.err;
}

TEST(PieceFilesByShapely, NothingOverlapsInAHundredRandomSets) {
  const test::TemporaryFolder folder;
  std::vector<std::string> words = {CHALKFOLD_PYTHON,
                                    std::string(CHALKFOLD_SOURCE_DIR) + "/tests/outside/check_piece_dxf.py", "set"};
  std::mt19937 random(20);
  for (int round = 0; round < 100; ++round) {
    std::vector<draft::Piece> pieces;
    int copies = 0;
    double area = 0;
    for (int i = 0; i < 3 + round % 8; ++i) {
      pieces.push_back(random_piece(random, i));
      copies += pieces.back().quantity;
      area += pieces.back().quantity * geometry::signed_area(pieces.back().cut_line);
    }
    const Json wanted = {
        {"layers", {"1", "2", "15"}}, {"layers_allowed", {"3"}}, {"gap", 20}, {"copies", copies}, {"area", area}};
    words.push_back((folder / fmt::format("set{}.dxf", round)).string());
    test::write_whole(words.back(), output::set_dxf(pieces));
    words.push_back((folder / fmt::format("set{}.json", round)).string());
    test::write_whole(words.back(), wanted.dump());
  }
  const test::ProgramRun run = test::run_program(words);
  EXPECT_EQ(run.exit, 0) << run.out << run.err;
}

TEST(PieceFilesByShapely, TheCheckSeesPiecesTooNear) {
  const std::vector<draft::Piece> pieces = {test::flag_piece()};
  Json wanted = {
      {"layers", wanted_exchange(false)["layers"]}, {"gap", 20}, {"copies", 2}, {"area", 2 * test::flag_area()}};
  EXPECT_EQ(check("set", output::set_dxf(pieces), wanted).exit, 0);
  output::SetOptions near;
  near.gap = 19.9;
  EXPECT_EQ(check("set", output::set_dxf(pieces, near), wanted).exit, 1);
}

TEST(PieceFilesByLibreCad, ExchangeInsideAndFace) {
  for (const bool face : {false, true})
    expect_flag(drawn_by_librecad(output::piece_dxf(test::flag_piece(), {face, false})), face);
}

TEST(PieceFilesByLibreCad, CutterInsideAndFace) {
  for (const bool face : {false, true}) {
    for (const bool arcs : {false, true}) {
      expect_flag(drawn_by_librecad(output::cutter_dxf(
                      test::flag_piece(), {.face = face, .arcs = arcs, .arc_tolerance = 0.05, .sew_line = false})),
                  face);
    }
  }
}

TEST(PieceFilesByRsvg, SizeAreaAndSide) {
  constexpr double px_per_mm = 10, margin = 10;
  constexpr double area_tolerance = 0.001;  // relative; rsvg-convert has 256 steps of coverage along the boundary
  for (const bool face : {false, true}) {
    const cv::Mat inside = filled_by_rsvg(output::piece_svg(test::flag_piece(), {face}));
    EXPECT_EQ(inside.cols, px_per_mm * (test::flag_width + 2 * margin));
    EXPECT_EQ(inside.rows, px_per_mm * (test::flag_height + 2 * margin));
    EXPECT_NEAR(cv::sum(inside)[0] / (px_per_mm * px_per_mm), test::flag_area(), area_tolerance * test::flag_area());
    const auto at = [&](const Vec2& p) {
      return inside.at<double>(static_cast<int>((margin + test::flag_height - p.y()) * px_per_mm),
                               static_cast<int>((margin + p.x()) * px_per_mm));
    };
    EXPECT_EQ(at(test::slant), face ? 1 : 0);
    EXPECT_EQ(at(test::slant_mirrored), face ? 0 : 1);
    EXPECT_EQ(at(test::bay), 0);
    EXPECT_EQ(at(test::bay_mirrored), 1);
  }
}

}  // namespace chalkfold
