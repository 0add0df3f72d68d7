// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/change/dimensional_change.h"

#include <gtest/gtest.h>

#include <chrono>
#include <numbers>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"
#include "tests/draft/flag_draft.h"

namespace chalkfold::draft {
namespace {

constexpr double degree = std::numbers::pi / 180;

/// A change of known size: along the direction `grain`, across it, and the angle between them closed.
struct Change {
  double along_percent = 0, across_percent = 0, shear_deg = 0, grain = 0;
  Mat2 map() const {
    const Vec2 g = geometry::unit(grain), h = geometry::left_of(g),
               sheared = std::cos(shear_deg * degree) * h + std::sin(shear_deg * degree) * g;
    Mat2 before, after;
    before << g, h;
    after << (1 + along_percent / 100) * g, (1 + across_percent / 100) * sheared;
    return after * before.transpose();
  }
};

Polyline large_flag() {
  Polyline corners = drawn::flag_corners();
  for (Vec2& p : corners) p *= 2;
  return corners;
}

Polyline changed(const Polyline& corners, const Change& change, double turn, const Vec2& shift) {
  Polyline out;
  for (const Vec2& p : corners) out.push_back(geometry::Rigid2{turn, shift} * Vec2(change.map() * p));
  return out;
}

ComparedShape shape_of(const Polyline& corners, double noise, std::uint32_t seed) {
  panel::Panel panel;
  panel.name = "flag";
  panel.outline = drawn::measured(drawn::polygon(corners), noise, seed);
  return compared_panel(panel);
}

ComparedShape with_grain(ComparedShape shape, const Vec2& tail, const Vec2& head) {
  shape.grain = {tail, head};
  return shape;
}

bool has(const Faults& faults, const std::string& code) {
  return std::any_of(faults.begin(), faults.end(), [&](const Fault& f) { return f.code == code; });
}

TEST(PercentChange, MinusIsShrinkage) {
  EXPECT_NEAR(percent_change(350.0, 339.5), -3.0, 1e-12);
  EXPECT_NEAR(percent_change(350.0, 350.0), 0.0, 1e-12);
  EXPECT_NEAR(percent_change(500.0, 506.0), 1.2, 1e-12);
}

TEST(CompensatedLength, ComesOutRightAfterTheChange) {
  EXPECT_NEAR(compensated_length(600, -3), 618.557, 5e-4);  // mm: the worked check is given to 0.001 mm
  for (const double percent : {-7.0, -0.4, 0.0, 2.5})
    EXPECT_NEAR(compensated_length(437, percent) * (1 + percent / 100), 437, 1e-9);
}

TEST(DimensionalChange, WithoutNoiseAnAffineChangeIsFoundInEveryDirection) {
  constexpr double exact_percent = 1e-4, exact_deg = 1e-4;  // corners are cut off by points a millimetre apart
  for (const double grain_deg : {0.0, 90.0, 37.0, 200.0}) {
    const Change truth{1.2, -0.8, 0.5, grain_deg * degree};
    const double turn = 2.2;
    const ComparedShape before = compared_line(large_flag(), "before", "drawn"),
                        after = compared_line(changed(large_flag(), truth, turn, {400, -90}), "after", "drawn");
    ChangeOptions options;
    options.grain_deg = grain_deg + turn / degree;
    const DimensionalChange change = dimensional_change(before, after, options);
    ASSERT_TRUE(change.done) << change.faults.front().seen;
    EXPECT_NEAR(change.along.percent, 1.2, exact_percent) << grain_deg;
    EXPECT_NEAR(change.across.percent, -0.8, exact_percent) << grain_deg;
    EXPECT_NEAR(change.shear_deg, 0.5, exact_deg) << grain_deg;
    EXPECT_LT(change.left_rms, 1e-4);
    EXPECT_FALSE(has(change.faults, "direction-assumed"));
  }
}

TEST(DimensionalChange, FollowsTheGrainOfEitherShape) {
  const Change truth{-3, -1, 0, 25 * degree};
  const geometry::Rigid2 laid{-1.1, {10, 20}};
  const ComparedShape before = compared_line(large_flag(), "before", "drawn"),
                      after = compared_line(changed(large_flag(), truth, -1.1, {10, 20}), "after", "drawn");
  const Vec2 tail(200, 100), head = tail + 80 * geometry::unit(25 * degree);
  const DimensionalChange by_reference = dimensional_change(with_grain(before, tail, head), after);
  EXPECT_EQ(by_reference.direction_from, DirectionFrom::reference_grain);
  EXPECT_NEAR(by_reference.along.percent, -3, 1e-4);
  const Mat2 map = truth.map();
  const DimensionalChange by_measured =
      dimensional_change(before, with_grain(after, laid * Vec2(map * tail), laid * Vec2(map * head)));
  EXPECT_EQ(by_measured.direction_from, DirectionFrom::measured_grain);
  EXPECT_NEAR(by_measured.along.percent, -3, 1e-4);
  EXPECT_NEAR(by_measured.across.percent, -1, 1e-4);
}

TEST(DimensionalChange, WithoutGrainItTakesTheLongerSideAndSaysSo) {
  const ComparedShape before = compared_line({{0, 0}, {600, 0}, {600, 450}, {60, 450}}, "before", "drawn"),
                      after = compared_line({{0, 0}, {0, 588}, {-450, 588}, {-450, 58.8}}, "after", "drawn");
  const DimensionalChange change = dimensional_change(before, after);
  ASSERT_TRUE(change.done) << change.faults.front().seen;
  EXPECT_EQ(change.direction_from, DirectionFrom::longer_side);
  EXPECT_TRUE(has(change.faults, "direction-assumed"));
  EXPECT_NEAR(change.along.percent, -2, 1e-4);
  EXPECT_NEAR(change.across.percent, 0, 1e-4);
}

TEST(DimensionalChange, UOfNoisyOutlinesCoversTheErrorAndIsNoExcuse) {
  constexpr int trials = 12;
  constexpr double noise = 0.15;  // mm, white: three times a good photo's
  const Change truth{1.2, -0.8, 0.5, 0.3};
  int covered = 0;
  double largest_U = 0;
  for (int k = 0; k < trials; ++k) {
    const auto seed = static_cast<std::uint32_t>(10 * k + 1);
    const ComparedShape before = shape_of(large_flag(), noise, seed),
                        after = shape_of(changed(large_flag(), truth, 1, {5, 5}), noise, seed + 1);
    ChangeOptions options;
    options.grain_deg = 0.3 / degree + 1 / degree;
    const DimensionalChange change = dimensional_change(before, after, options);
    if (std::abs(change.along.percent - 1.2) <= change.along.U) ++covered;
    if (std::abs(change.across.percent + 0.8) <= change.across.U) ++covered;
    if (std::abs(change.shear_deg - 0.5) <= change.shear_U_deg) ++covered;
    largest_U = std::max({largest_U, change.along.U, change.across.U});
  }
  EXPECT_GE(covered, 34);      // of 36: 95 %
  EXPECT_LT(largest_U, 0.15);  // percent: a change of half a percent must stand out
}

TEST(DimensionalChange, AScaleThatTheOutlinesMayShareEntersU) {
  ComparedShape before = compared_line({{0, 0}, {600, 0}, {600, 450}, {0, 450}}, "before", "drawn"), after = before;
  std::fill(after.outline.U.begin(), after.outline.U.end(), 0.6);  // mm: 0.3 mm at both ends of 600 mm
  ChangeOptions options;
  options.grain_deg = 0;
  const DimensionalChange change = dimensional_change(before, after, options);
  EXPECT_NEAR(change.along.U, 100 * 2 * 0.6 / 600, 0.1);  // percent; the other sides' sharing makes it not exactly this
  EXPECT_GE(change.along.U, 100 * 2 * 0.6 / 600 - 1e-3);
}

TEST(DimensionalChange, AMirroredReferenceIsRefusedUntilTheUserSaysSo) {
  const ComparedShape panel = shape_of(changed(large_flag(), {0.5, 0.2, 0, 0}, 0.7, {9, 9}), 0.05, 3),
                      reference = compared_line(large_flag(), "reference", "drawn");
  const DimensionalChange refused = dimensional_change(other_side(reference), panel);
  EXPECT_FALSE(refused.done);
  EXPECT_TRUE(has(refused.faults, "mirrored-fits-better"));
  ChangeOptions options;
  options.other_side = true;
  const DimensionalChange told = dimensional_change(other_side(reference), panel, options);
  EXPECT_TRUE(told.done);
  EXPECT_FALSE(has(told.faults, "mirrored-fits-better"));
  EXPECT_LT(told.left_rms, 0.2);
}

TEST(DimensionalChange, TheOtherSideIsMirroredOnceWhetherTheFilesOrTheUserSaySo) {
  ComparedShape panel = shape_of(large_flag(), 0.05, 3), reference = other_side(compared_line(large_flag(), "r", "d"));
  ChangeOptions told;
  told.other_side = true;
  panel.side = Side::inside;
  reference.side = Side::face;
  for (const ChangeOptions& options : {ChangeOptions{}, told}) {
    const DimensionalChange change = dimensional_change(reference, panel, options);
    EXPECT_TRUE(change.done);
    EXPECT_TRUE(change.reference_mirrored);
  }
}

TEST(DimensionalChange, RemediesNameTheJobsKeysBesideTheOptions) {
  ComparedShape panel = shape_of(large_flag(), 0.05, 3), reference = compared_line(large_flag(), "r", "d");
  const DimensionalChange change = dimensional_change(reference, panel);
  const auto assumed = std::find_if(change.faults.begin(), change.faults.end(),
                                    [](const Fault& f) { return f.code == "direction-assumed"; });
  ASSERT_NE(assumed, change.faults.end());
  EXPECT_NE(assumed->remedy.find("grain_deg in the job"), std::string::npos);
  panel.side = Side::inside;  // said wrongly
  reference.side = Side::face;
  const DimensionalChange refused = dimensional_change(reference, panel);
  ASSERT_TRUE(has(refused.faults, "mirrored-fits-better"));
  EXPECT_NE(refused.faults.front().remedy.find("side in the job"), std::string::npos);
}

TEST(DimensionalChange, ASymmetricPanelIsNoMirroredOne) {
  const Polyline trapezoid{{0, 0}, {500, 0}, {430, 380}, {70, 380}};
  const DimensionalChange change =
      dimensional_change(compared_line(trapezoid, "before", "drawn"), shape_of(trapezoid, 0.1, 5));
  EXPECT_TRUE(change.done);
  EXPECT_FALSE(has(change.faults, "mirrored-fits-better"));
}

TEST(DimensionalChange, AnotherPanelIsRefused) {
  const DimensionalChange change = dimensional_change(
      compared_line({{0, 0}, {900, 0}, {900, 80}, {0, 80}}, "strip", "drawn"), shape_of(large_flag(), 0.05, 1));
  EXPECT_FALSE(change.done);
  EXPECT_TRUE(has(change.faults, "not-the-same-panel"));
}

TEST(DimensionalChange, ARectangleTurnedEitherWayIsToldOf) {
  const Polyline box{{0, 0}, {600, 0}, {600, 450}, {0, 450}};
  const DimensionalChange change =
      dimensional_change(compared_line(box, "before", "drawn"), compared_line(box, "after", "drawn"));
  EXPECT_TRUE(has(change.faults, "registration-ambiguous"));
  EXPECT_NEAR(change.along.percent, 0, 1e-6);
  const DimensionalChange flag =
      dimensional_change(compared_line(large_flag(), "before", "drawn"), compared_line(large_flag(), "after", "drawn"));
  EXPECT_FALSE(has(flag.faults, "registration-ambiguous"));
}

TEST(DimensionalChange, ADirectedGrainTellsWhichWayRoundARectangleLies) {
  const Polyline box{{0, 0}, {600, 0}, {600, 450}, {0, 450}};
  const ComparedShape before = with_grain(compared_line(box, "before", "drawn"), {300, 100}, {300, 300});
  for (const double way : {1.0, -1.0}) {
    const ComparedShape after =
        with_grain(compared_line(box, "after", "drawn"), {300, 225 - way * 100}, {300, 225 + way * 100});
    const DimensionalChange change = dimensional_change(before, after);
    EXPECT_NEAR((change.affine.linear * Vec2(0, 1)).y(), way, 1e-3);
    EXPECT_FALSE(has(change.faults, "registration-ambiguous")) << way;
  }
}

TEST(DimensionalChange, ABumpDoesNotPassForAStretch) {
  const Polyline box{{0, 0}, {600, 0}, {600, 200}, {604, 210}, {604, 250}, {600, 260}, {600, 450}, {60, 450}},
      straight{{0, 0}, {600, 0}, {600, 450}, {60, 450}};
  ChangeOptions options;
  options.grain_deg = 0;
  const DimensionalChange change =
      dimensional_change(compared_line(straight, "before", "drawn"), compared_line(box, "after", "drawn"), options);
  EXPECT_NEAR(change.along.percent, 0, 0.02);  // percent: plain least squares over the bump gives 0.1
  double largest = 0, left = 0;
  for (const ResidualPoint& p : change.residuals) {
    largest = std::max(largest, p.departure);
    left = std::max(left, p.left);
  }
  EXPECT_NEAR(left, 4, 0.05);  // mm: the map does not follow the bump
  EXPECT_NEAR(largest, 4,
              0.3);  // mm: the rigid motion, least squares over all, gives way to it by its share of the outline
}

TEST(DimensionalChange, EdgesAreNumberedAsThePieceAndMeasuredAlongTheirCurves) {
  const Change truth{2, -1, 0, 0};
  const ComparedShape before = shape_of(large_flag(), 0.05, 2),
                      after = shape_of(changed(large_flag(), truth, 0, {0, 0}), 0.05, 3);
  ChangeOptions options;
  options.grain_deg = 0;
  const DimensionalChange change = dimensional_change(before, after, options);
  ASSERT_EQ(change.edges.size(), 5u);
  const Polyline corners = large_flag(), moved = changed(corners, truth, 0, {0, 0});
  for (std::size_t i = 0; i < 5; ++i) {
    const EdgeChange& edge = change.edges[i];
    EXPECT_EQ(edge.number, static_cast<int>(i) + 1);
    const double was = (corners[(i + 1) % 5] - corners[i]).norm(), is = (moved[(i + 1) % 5] - moved[i]).norm();
    EXPECT_NEAR(edge.length.before, was, 0.3);  // mm: two corners of an outline with 0.05 mm noise
    EXPECT_NEAR(edge.length.change.percent, percent_change(was, is), std::max(edge.length.change.U, 0.1)) << i;
  }
}

TEST(DimensionalChange, HolesThatBothHaveAreMeasuredAsDistances) {
  const Change truth{-3, -1, 0, 0};
  ComparedShape before = compared_line(large_flag(), "before", "drawn"),
                after = compared_line(changed(large_flag(), truth, 0.4, {50, 0}), "after", "drawn");
  const geometry::Rigid2 laid{0.4, {50, 0}};
  for (const Vec2& p : {Vec2(100, 60), Vec2(450, 60), Vec2(100, 300)}) {
    before.marks.push_back({BenchMark::Kind::hole, p, 0.1});
    after.marks.push_back({BenchMark::Kind::hole, laid * Vec2(truth.map() * p), 0.1});
  }
  ChangeOptions options;
  options.grain_deg = 0.4 / degree;
  const DimensionalChange change = dimensional_change(before, after, options);
  ASSERT_EQ(change.distances.size(), 3u);
  const MarkDistance& level = change.distances[1];  // longest first: the diagonal, then 350 mm along the grain
  EXPECT_NEAR(level.length.before, 350, 1e-9);
  EXPECT_NEAR(level.length.after, 339.5, 1e-6);
  EXPECT_NEAR(level.length.change.percent, -3, 1e-6);
  EXPECT_NEAR(level.grain_deg, 0, 0.1);
  EXPECT_NEAR(change.distances[2].length.change.percent, -1, 1e-6);
}

TEST(DimensionalChange, MarksDrawnAKnownDistanceApartNeedNoReference) {
  ComparedShape after = compared_line({{0, 0}, {600, 0}, {600, 450}, {0, 450}}, "after", "drawn");
  after.marks = {{BenchMark::Kind::cross, {100, 200}, 0.7},
                 {BenchMark::Kind::cross, {439.5, 200}, 0.7},
                 {BenchMark::Kind::hole, {300, 100}, 0.1}};
  ChangeOptions options;
  options.bench = 350;
  options.given = {{{0, 0}, {0, 450}, 460}};
  const DimensionalChange change = dimensional_change(NominalSize{612, 450}, after, options);
  ASSERT_EQ(change.distances.size(), 2u);
  EXPECT_EQ(change.distances[0].what, "crosses");
  EXPECT_NEAR(change.distances[0].length.change.percent, -3, 1e-9);
  EXPECT_GT(change.distances[0].length.change.U, 0.3);  // percent: crosses drawn by hand
  EXPECT_EQ(change.distances[1].what, "given");
  EXPECT_NEAR(change.distances[1].length.change.percent, percent_change(460, 450), 1e-9);
}

TEST(NominalSize, IsComparedWithTheExtents) {
  ComparedShape after = compared_line({{0, 0}, {582, 0}, {582, 450}, {0, 450}}, "after", "drawn");
  const DimensionalChange longer = dimensional_change(NominalSize{450, 600}, after);
  EXPECT_NEAR(longer.along.percent, -3, 1e-9);  // no grain: the longer number is the longer side's
  EXPECT_NEAR(longer.across.percent, 0, 1e-9);
  after.grain = {Vec2(300, 100), Vec2(300 + 200 * std::sin(2 * degree), 300)};  // drawn 2 degrees off the side
  const DimensionalChange grain = dimensional_change(NominalSize{450, 600}, after);
  EXPECT_NEAR(grain.along.percent, 0, 1e-9);
  EXPECT_NEAR(grain.across.percent, -3, 1e-9);
}

TEST(ComparedShape, PointsAMillimetreApartAreFilledInAndItsOwnAreKept) {
  const Polyline dense = compared_line({{0, 0}, {2.5, 0}, {2.5, 1}}, "triangle", "drawn").outline.points;
  EXPECT_EQ(dense.size(), 3u + 1u + 3u);
  EXPECT_EQ(dense[3], Vec2(2.5, 0));
}

TEST(ComparedShape, NotchesAreBridgedAndSidesToldApart) {
  panel::Panel panel = drawn::flag_panel(0, 1);
  EXPECT_EQ(compared_panel(panel).marks.size(), 1u);
  Piece inside, face;
  inside.cut_line = face.cut_line = inside.sew_line = face.sew_line = drawn::flag_corners();
  inside.name = face.name = "flag";
  face.side = Side::face;
  for (Vec2& p : face.cut_line) p.x() = -p.x();
  std::reverse(face.cut_line.begin(), face.cut_line.end());
  const DimensionalChange change =
      dimensional_change(compared_piece(inside, PieceLine::cut), compared_piece(face, PieceLine::cut));
  EXPECT_TRUE(change.done);
  EXPECT_TRUE(change.reference_mirrored);
  EXPECT_NEAR(change.along.percent, 0, 1e-4);
}

}  // namespace
}  // namespace chalkfold::draft
