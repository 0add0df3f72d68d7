// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/symmetry.h"

#include <gtest/gtest.h>

#include "pipeline/geometry/polygon.h"
#include "tests/draft/drawn_shapes.h"

namespace chalkfold::draft {
namespace {

constexpr double degree = std::numbers::pi / 180;

/// A cushion's top: straight back, sides that lean, a bowed front, two corners at the back, two rounded ones at the front.
geometry::Curve cushion() {
  const double bow = 900;
  geometry::Curve right;
  const Vec2 front(0, -230), side_low(210, -150), back(190, 230);
  const Vec2 bow_centre = front + Vec2(0, bow);
  const double angle = 0.2;
  const Vec2 bow_end = bow_centre + bow * Vec2(std::sin(angle), -std::cos(angle));
  geometry::CurveSegment round = drawn::line(bow_end, side_low);
  round.kind = geometry::CurveSegment::Kind::cubic;
  round.control1 = bow_end + 25 * Vec2(std::cos(angle), std::sin(angle));
  const Vec2 up = (back - side_low).normalized();
  round.control2 = side_low - 40 * up;
  right = {drawn::arc(front, bow_end, bow_centre), round, drawn::line(side_low, back),
           drawn::line(back, {0, back.y()})};
  geometry::Curve all = right;
  for (auto s = right.rbegin(); s != right.rend(); ++s)
    all.push_back(geometry::mirrored(geometry::reversed(*s), Vec2::Zero(), Vec2::UnitY()));
  return all;
}

struct Worn {
  panel::Contour measured;
  /// in the panel's frame
  Polyline design;
  geometry::Rigid2 panel_from_design;
  panel::CentreLine chalk;
};

/// The right half stretched by 2.5 % across, noise of 0.1 mm, a chalk line drawn 0.1 mm and 0.08 degree off (0.3 mm off alone
/// would move both sides of a folded piece by 0.3 mm).
Worn worn(double stretch, std::uint32_t seed) {
  Worn w;
  w.panel_from_design = {17 * degree, {320, 410}};
  w.measured = drawn::measured(cushion(), 0.1, seed);
  for (Vec2& p : w.measured.points) {
    if (p.x() > 0) p.x() *= 1 + stretch;
    p = w.panel_from_design * p;
  }
  w.design = geometry::flattened(cushion(), 0.01);
  for (Vec2& p : w.design) p = w.panel_from_design * p;
  const double off = 0.08 * degree;
  const auto on_line = [&](double y) { return w.panel_from_design * Vec2(0.1 - std::sin(off) * y, y); };
  w.chalk.from = on_line(-200);
  w.chalk.to = on_line(200);
  w.chalk.sigma = 0.15;
  w.chalk.sigma_angle = 0.001;
  return w;
}

Polyline flat(const std::vector<OutlineEdge>& edges) {
  Polyline all;
  for (const OutlineEdge& edge : edges) {
    const Polyline part = geometry::flattened(edge.curve, 0.01);
    all.insert(all.end(), part.begin(), part.end() - 1);
  }
  return all;
}

double rms_from(const Polyline& points, const Polyline& truth) {
  const Polyline even = geometry::resample_closed(points, 800);
  double squares = 0;
  for (const Vec2& p : even) squares += std::pow(geometry::distance_to(truth, p, true), 2);
  return std::sqrt(squares / static_cast<double>(even.size()));
}

/// Largest distance of any mirrored node or control point from its fellow.
double asymmetry(const SymmetricOutline& result) {
  Polyline points;
  for (const OutlineEdge& edge : result.edges)
    for (const geometry::CurveSegment& s : edge.curve) points.push_back(s.from);
  double largest = 0;
  for (const Vec2& p : points) {
    double nearest = 1e300;
    for (const Vec2& q : points) nearest = std::min(nearest, (result.axis->image(p) - q).norm());
    largest = std::max(largest, nearest);
  }
  const Polyline line = flat(result.edges);
  for (const Vec2& p : line) largest = std::max(largest, geometry::distance_to(line, result.axis->image(p), true));
  return largest;
}

class WornCushion : public testing::TestWithParam<int> {};

TEST_P(WornCushion, FoldingTheSoundHalfOverGivesTheDesign) {
  const Worn w = worn(0.025, static_cast<std::uint32_t>(GetParam()));
  SymmetryOptions options;
  options.fold = Fold::left;
  const SymmetricOutline result = symmetrise(w.measured, {}, w.chalk, options, {});
  ASSERT_TRUE(result.change.done) << result.change.reason;
  EXPECT_LT(rms_from(flat(result.edges), w.design), 0.3);
  EXPECT_LT(asymmetry(result), 1e-6);
  const Vec2 truth = w.panel_from_design * Vec2(0, 1) - w.panel_from_design * Vec2(0, 0);
  EXPECT_LT(std::acos(std::min(1.0, truth.dot(result.axis->direction))), 0.3 * degree);
  const Vec2 centre = w.panel_from_design * Vec2(0, 0), d = result.axis->point - centre;
  EXPECT_LT(std::abs(truth.x() * d.y() - truth.y() * d.x()), 0.7);
}

TEST_P(WornCushion, TheMeanHalvesTheErrorOfTheWorseHalf) {
  const Worn w = worn(0.025, static_cast<std::uint32_t>(GetParam()));
  const SymmetricOutline result = symmetrise(w.measured, {}, w.chalk, {}, {});
  ASSERT_TRUE(result.change.done);
  EXPECT_LT(asymmetry(result), 1e-6);
  double worse = 0;  // of the stretched half as measured
  int count = 0;
  for (const Vec2& p : w.measured.points)
    if ((w.panel_from_design.inverse() * p).x() > 0) {
      worse += std::pow(geometry::distance_to(w.design, p, true), 2);
      ++count;
    }
  worse = std::sqrt(worse / count);
  const double after = rms_from(flat(result.edges), w.design);
  EXPECT_LT(after, 0.55 * worse) << "before " << worse;  // half, and a tenth of it for noise and the chalk's own error
  EXPECT_GT(result.change.largest, 1.5);                 // the back corner moved by half of 4.75 mm
  EXPECT_LT(result.change.largest, 4);
}

INSTANTIATE_TEST_SUITE_P(Seeds, WornCushion, testing::Range(1, 6));

TEST(Symmetry, WithoutChalkASoundPanelIsMadeSymmetricAndOneThatIsWornCrookedIsLeft) {
  const Worn sound = worn(0, 3);
  Worn stretched =
      sound;  // at the front of the right half only: no axis makes up for that, as one would for an even stretch
  for (Vec2& p : stretched.measured.points) {
    Vec2 d = sound.panel_from_design.inverse() * p;
    if (d.x() > 0) d.x() *= 1 + 0.03 * std::clamp(-d.y() / 150, 0.0, 1.0);
    p = sound.panel_from_design * d;
  }
  EXPECT_TRUE(symmetrise(sound.measured, {}, {}, {}, {}).change.done);
  const SymmetricOutline left = symmetrise(stretched.measured, {}, {}, {}, {});
  EXPECT_FALSE(left.change.done);
  EXPECT_FALSE(left.axis);
  EXPECT_NE(left.change.reason.find("more than"), std::string::npos) << left.change.reason;
  EXPECT_LT(rms_from(flat(left.edges), stretched.measured.points), 0.15);  // as measured, noise averaged
  SymmetryOptions forced;
  forced.symmetric = Symmetric::yes;
  EXPECT_TRUE(symmetrise(stretched.measured, {}, {}, forced, {}).change.done);
  forced.symmetric = Symmetric::no;
  EXPECT_FALSE(symmetrise(sound.measured, {}, sound.chalk, forced, {}).change.done);
}

TEST(Symmetry, MarksOnBothHalvesAreAveragedAndALoneOneIsMirrored) {
  const Worn w = worn(0.025, 2);
  const auto mark = [&](double x, double y) {
    OutlineMark m;
    m.foot = w.panel_from_design * Vec2(x > 0 ? 1.025 * x : x, y);
    return m;
  };
  // On the back edge (y = 230): a pair at 100 mm; on the right side only: one at y = 40.
  const double side_x = 210 - 20 * (40 + 150) / 380.0;
  const std::vector<OutlineMark> marks{mark(100, 230), mark(-100, 230), mark(side_x, 40)};
  const SymmetricOutline mean = symmetrise(w.measured, marks, w.chalk, {}, {});
  ASSERT_EQ(mean.marks.size(), 4u);
  int averaged = 0, lone = 0;
  for (const OutlineMark& m : mean.marks) {
    const Vec2 p = w.panel_from_design.inverse() * m.foot;
    if (m.origin == MarkOrigin::averaged) {
      ++averaged;
      EXPECT_NEAR(p.y(), 230, 0.5);
      EXPECT_NEAR(std::abs(p.x()), 101.25, 1.0);  // the mean of 100 and 102.5, and the chalk's 0.1 mm
    } else {
      ++lone;
      EXPECT_EQ(m.origin, p.x() > 0 ? MarkOrigin::measured : MarkOrigin::mirrored);  // drawn on the right
      EXPECT_NEAR(p.y(), 40, 1.5);
    }
  }
  EXPECT_EQ(averaged, 2);
  EXPECT_EQ(lone, 2);
  SymmetryOptions fold;
  fold.fold = Fold::left;
  const SymmetricOutline left = symmetrise(w.measured, marks, w.chalk, fold, {});
  ASSERT_EQ(left.marks.size(), 2u);  // the left half's one, and its image
  for (const OutlineMark& m : left.marks) EXPECT_NEAR(std::abs((w.panel_from_design.inverse() * m.foot).x()), 100, 0.7);
}

TEST(Symmetry, ASingleMarkBesideTheAxisMarksTheMiddle) {
  const Worn w = worn(0.025, 2);
  OutlineMark middle;
  middle.kind = PieceMark::Kind::notch;
  middle.foot = w.panel_from_design * Vec2(2.5, 230);
  const SymmetricOutline one = symmetrise(w.measured, {middle}, w.chalk, {}, {});
  ASSERT_EQ(one.marks.size(), 1u);
  EXPECT_LT((one.axis->image(one.marks[0].foot) - one.marks[0].foot).norm(), 1e-6);
  OutlineMark other = middle;
  other.foot = w.panel_from_design * Vec2(-2.5, 230);
  EXPECT_EQ(symmetrise(w.measured, {middle, other}, w.chalk, {}, {}).marks.size(),
            2u);  // a double mark about the middle
}

TEST(Symmetry, CornersOnTheAxisStayCorners) {  // a five-point star: a tip above, a notch below
  const SymmetricOutline result = symmetrise(drawn::measured(drawn::star(340, 160), 0.1), {}, {}, {}, {});
  ASSERT_TRUE(result.change.done) << result.change.reason;
  EXPECT_EQ(result.edges.size(), 10u);
  EXPECT_LT(asymmetry(result), 1e-6);
  EXPECT_LT(rms_from(flat(result.edges), geometry::flattened(drawn::star(340, 160), 0.01)), 0.1);
}

TEST(Symmetry, ARoundPieceStaysOneSmoothEdge) {
  const SymmetricOutline result = symmetrise(drawn::measured(drawn::stadium(240, 90), 0.1), {}, {}, {}, {});
  ASSERT_TRUE(result.change.done);
  ASSERT_EQ(result.edges.size(), 1u);
  EXPECT_LE(result.edges[0].curve.size(), 5u);
  EXPECT_LT(asymmetry(result), 1e-6);
  EXPECT_LT(rms_from(flat(result.edges), geometry::flattened(drawn::stadium(240, 90), 0.01)), 0.1);
}

}  // namespace
}  // namespace chalkfold::draft
