// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/piece_drawing.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/output/flag_piece.h"

namespace chalkfold::output {

namespace {
constexpr double rounding = 1e-9;        // mm
constexpr double flattening_area = 0.2;  // mm2: 0.002 mm times the bay's 64 mm, and some

std::vector<Drawing::Line> lines_on(const Drawing& drawing, Layer layer) {
  std::vector<Drawing::Line> found;
  std::copy_if(drawing.lines.begin(), drawing.lines.end(), std::back_inserter(found),
               [&](const Drawing::Line& line) { return line.layer == layer; });
  return found;
}

Polyline spots_on(const Drawing& drawing, Layer layer) {
  Polyline found;
  for (const Drawing::Spot& spot : drawing.spots) {
    if (spot.layer == layer) found.push_back(spot.at);
  }
  return found;
}

std::vector<std::string> words_of(const Drawing& drawing) {
  std::vector<std::string> words;
  for (const Drawing::Text& text : drawing.texts) words.push_back(text.words);
  return words;
}
}  // namespace

TEST(PieceDrawing, HasEveryLayer) {
  const Drawing drawing = drawing_of(test::flag_piece());
  EXPECT_NEAR((drawing.box.max - Vec2(test::flag_width, test::flag_height)).norm(), 0, rounding);
  EXPECT_NEAR(drawing.box.min.norm(), 0, rounding);
  for (const Layer layer : {Layer::boundary, Layer::sew, Layer::cutouts, Layer::internal}) {
    const auto lines = lines_on(drawing, layer);
    ASSERT_EQ(lines.size(), 1u) << layer_title(layer);
    EXPECT_TRUE(lines[0].closed) << layer_title(layer);
  }
  EXPECT_NEAR(geometry::signed_area(lines_on(drawing, Layer::boundary)[0].points), test::flag_area(), flattening_area);
  EXPECT_EQ(lines_on(drawing, Layer::internal)[0].points.size(), 4u) << "the square's first point is not repeated";
  EXPECT_TRUE(lines_on(drawing, Layer::mirror).empty());
  EXPECT_EQ(spots_on(drawing, Layer::holes).size(), 1u);
  const auto grain = lines_on(drawing, Layer::grain);
  ASSERT_EQ(grain.size(), 1u);
  EXPECT_NEAR((grain[0].points[0] - Vec2(180, 40)).norm(), 0, rounding) << "tail first";
}

TEST(PieceDrawing, CornersOfTheBayAreTurnPointsAndSmoothJointsCurvePoints) {
  draft::Piece piece = test::flag_piece();
  EXPECT_EQ(spots_on(drawing_of(piece), Layer::turn_points).size(), 7u);
  // A joint in the middle of the right edge turns nothing.
  const geometry::CurveSegment right = piece.cut[3];
  const Vec2 middle = 0.5 * (right.from + right.to);
  piece.cut[3].to = middle;
  piece.cut.insert(piece.cut.begin() + 4, test::line_segment(middle, right.to));
  const Drawing drawing = drawing_of(piece);
  EXPECT_EQ(spots_on(drawing, Layer::turn_points).size(), 7u);
  ASSERT_EQ(spots_on(drawing, Layer::curve_points).size(), 1u);
  EXPECT_NEAR((spots_on(drawing, Layer::curve_points)[0] - Vec2(240, 55)).norm(), 0, rounding);
}

TEST(PieceDrawing, IsMirroredOnlyWhenTheFaceIsAskedFor) {
  const auto boundary = [](bool face) {
    return lines_on(drawing_of(test::flag_piece(), {face}), Layer::boundary)[0].points;
  };
  for (const bool face : {false, true}) {
    EXPECT_GT(geometry::signed_area(boundary(face)), 0);
    EXPECT_FALSE(geometry::contains(boundary(face), test::bay)) << "the bay is below in both";
    EXPECT_TRUE(geometry::contains(boundary(face), test::bay_mirrored));
    EXPECT_EQ(geometry::contains(boundary(face), test::slant), face);
    EXPECT_EQ(geometry::contains(boundary(face), test::slant_mirrored), !face);
  }
}

TEST(PieceDrawing, SaysWhichSideItShows) {
  const Drawing inside = drawing_of(test::flag_piece()), face = drawing_of(test::flag_piece(), {true});
  EXPECT_THAT(words_of(inside), testing::ElementsAre("flag", "cut 2, one mirrored", "inside up", "U", "2"));
  EXPECT_THAT(words_of(face), testing::ElementsAre("flag", "cut 2, one mirrored", "face up", "2"));
  EXPECT_THAT(inside.remarks, testing::Contains("Annotation: inside up"));
  EXPECT_THAT(face.remarks, testing::Contains("Annotation: face up"));
  EXPECT_THAT(face.remarks,
              testing::IsSupersetOf({"Piece Name: flag", "Quantity: 2, one mirrored", "Material: vinyl"}));
}

TEST(PieceDrawing, APieceThatShowsItsFaceIsNotTurnedAgain) {
  const draft::Piece face = shown_piece(test::flag_piece(), true);
  EXPECT_EQ(drawing_of(face, {true}).lines[0].points, drawing_of(face).lines[0].points);
  EXPECT_EQ(face.side, draft::Side::face);
}

TEST(PieceDrawing, AMirrorImageShowsTheSameSide) {
  const draft::Piece image = draft::mirror_image(test::flag_piece());
  EXPECT_EQ(image.side, draft::Side::inside);
  const Drawing drawing = drawing_of(image);
  EXPECT_TRUE(geometry::contains(drawing.lines[0].points, test::slant));
  EXPECT_THAT(words_of(drawing), testing::Contains("inside up"));
}

TEST(PieceDrawing, MarksRunInwardFromTheCutLine) {
  const Drawing drawing = drawing_of(test::flag_piece());
  const auto marks = lines_on(drawing, Layer::marks);
  ASSERT_EQ(marks.size(), 2u);
  const Polyline vee{{240, 58}, {236, 60}, {240, 62}}, match{{150, 150}, {150, 145}};
  ASSERT_EQ(marks[0].points.size(), vee.size());
  for (std::size_t i = 0; i < vee.size(); ++i) EXPECT_NEAR((marks[0].points[i] - vee[i]).norm(), 0, rounding) << i;
  ASSERT_EQ(marks[1].points.size(), match.size());
  for (std::size_t i = 0; i < match.size(); ++i) EXPECT_NEAR((marks[1].points[i] - match[i]).norm(), 0, rounding) << i;
  EXPECT_FALSE(marks[0].closed);
}

TEST(PieceDrawing, MouthOfANotchInABayLiesOnTheCutLine) {
  draft::Piece piece = test::flag_piece();
  const geometry::CurveSegment bay = piece.cut[1];
  for (const panel::NotchShape shape : {panel::NotchShape::vee, panel::NotchShape::round}) {
    draft::PieceMark notch = piece.marks[0];
    notch.shape = shape;
    notch.on_cut = bay.at(0.5);
    notch.inward = Vec2(0, 1);
    const Polyline course = mark_course(piece, notch);
    for (const Vec2& mouth : {course.front(), course.back()}) {
      EXPECT_LT(geometry::distance_to(piece.cut_line, mouth, true), rounding);
      EXPECT_NEAR((mouth - bay.centre).norm(), test::flag_arc_radius, 0.002) << "flattened to 0.002 mm";
    }
  }
}

TEST(PieceDrawing, LetteringIsDrawnAsOpenStrokes) {
  const Drawing plain = drawing_of(test::flag_piece()), lettered = with_lettering(plain);
  EXPECT_TRUE(lines_on(plain, Layer::text).empty());
  const auto strokes = lines_on(lettered, Layer::text);
  EXPECT_GT(strokes.size(), 20u);
  for (const auto& stroke : strokes) {
    EXPECT_FALSE(stroke.closed);
    for (const Vec2& p : stroke.points) EXPECT_TRUE(geometry::contains(plain.lines[0].points, p)) << p.transpose();
  }
}

TEST(PieceDrawing, RefusesAPieceWithoutACutLine) { EXPECT_THROW(drawing_of(draft::Piece{}), std::logic_error); }

}  // namespace chalkfold::output
