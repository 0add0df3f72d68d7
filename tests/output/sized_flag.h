// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <numbers>
#include <vector>

#include "pipeline/draft/piece/piece.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::test {

/// Two corners of the flag, 4 mm inside its cut line's box: the lower right one is square and lies in the piece, the
/// upper right one is cut off round and does not. Turned upside down or mirrored, they would not be so.
struct SizedFlagPlaces {
  Vec2 square_corner, round_corner;
};

inline geometry::CurveSegment line_of(const Vec2& from, const Vec2& to) {
  geometry::CurveSegment s;
  s.from = from;
  s.to = to;
  return s;
}

inline geometry::CurveSegment arc_of(const Vec2& from, const Vec2& to, const Vec2& centre) {
  geometry::CurveSegment s = line_of(from, to);
  s.kind = geometry::CurveSegment::Kind::arc;
  s.centre = centre;
  return s;
}

inline geometry::CurveSegment cubic_of(const Vec2& from, const Vec2& control1, const Vec2& control2, const Vec2& to) {
  geometry::CurveSegment s = line_of(from, to);
  s.kind = geometry::CurveSegment::Kind::cubic;
  s.control1 = control1;
  s.control2 = control2;
  return s;
}

inline SizedFlagPlaces sized_flag_places(double width, double height) {
  return {{width + 6, -6}, {width + 6, height + 6}};
}

// The flag in parts: `a` is its allowance, `fine` how far the points of its curves are off them at the most, mm.
namespace sized {

inline constexpr double a = 10, fine = 0.02;

inline std::vector<draft::PieceEdge> edges(double width, double height) {
  const double r = height / 4;
  const Vec2 turn(width - r, height - r), hollow1(width / 12, height * 2 / 3), hollow2(width / 12, height / 3);
  return {{1, {line_of({0, 0}, {width, 0})}, a, 0.1, 1.0 / 30, 0.25},
          {2,
           {line_of({width, 0}, {width, height - r}), arc_of({width, height - r}, {width - r, height}, turn),
            line_of({width - r, height}, {0, height})},
           a,
           0.2,
           0.03,
           0.5},
          {3, {cubic_of({0, height}, hollow1, hollow2, {0, 0})}, a, 0.15, 0.03, 0.3}};
}

/// Beside the hollow edge by a line a point.
inline geometry::Curve cut(double width, double height, const geometry::Curve& hollow) {
  const double r = height / 4;
  geometry::Curve cut = {line_of({-a, -a}, {width + a, -a}), line_of({width + a, -a}, {width + a, height - r}),
                         arc_of({width + a, height - r}, {width - r, height + a}, {width - r, height - r}),
                         line_of({width - r, height + a}, {-a, height + a})};
  Vec2 last(-a, height + a);
  for (const Vec2& q : geometry::flattened(hollow, fine)) {
    const Vec2 next = q + Vec2(-a, 0);
    cut.push_back(line_of(last, next));
    last = next;
  }
  cut.push_back(line_of(last, {-a, -a}));
  return cut;
}

inline std::vector<draft::PieceMark> marks(double width, double height) {
  return {{draft::PieceMark::Kind::match,
           panel::NotchShape::slit,
           1,
           width / 3,
           {width / 3, 0},
           {width / 3, -a},
           Vec2::UnitY(),
           5,
           0,
           draft::MarkOrigin::mirrored},
          {draft::PieceMark::Kind::notch,
           panel::NotchShape::vee,
           2,
           height / 2,
           {width, height / 2},
           {width + a, height / 2},
           -Vec2::UnitX(),
           4.5,
           1,
           draft::MarkOrigin::averaged}};
}

}  // namespace sized

/// A piece made by hand, unlike itself however it is mirrored or turned: `width` x `height` on the sew line, 10 mm wider all round on
/// the cut line, its upper right corner round (radius a quarter of the height), its left edge hollow (a cubic), a square cut-out
/// at the lower left, with one of every kind of mark. Its numbers are no round ones, so that a number that was cut short shows.
inline draft::Piece sized_flag(double width = 200 + 1.0 / 3, double height = 120 + 1.0 / 7) {
  draft::Piece p;
  p.name = "flag";
  p.part = "seat top";
  p.job = "job 7";
  p.material = "vinyl";
  p.number = 3;
  p.quantity = 2;
  p.one_mirrored = true;
  p.measured_on = "flag.jpg";
  p.U = 0.1 + 0.2;
  p.edges = sized::edges(width, height);
  for (const draft::PieceEdge& edge : p.edges) {
    const Polyline points = geometry::flattened(edge.sew, sized::fine);
    p.sew_line.insert(p.sew_line.end(), points.begin(), points.end() - 1);
  }
  p.cut = sized::cut(width, height, p.edges[2].sew);
  p.cut_line = geometry::flattened(p.cut, sized::fine);
  p.cut_line.pop_back();
  p.cutouts = {{{20, 20}, {20, 40}, {40, 40}, {40, 20}}};
  p.axis = {Vec2(width / 2, -sized::a), Vec2(width / 2, height + sized::a)};
  p.grain = {Vec2(width * 0.7, height * 0.2), Vec2(width * 0.8, height * 0.7)};
  p.underside = Vec2(width * 0.3, height * 0.8);
  p.marks = sized::marks(width, height);
  p.holes = {{Vec2(width * 0.6, height * 0.3), 3}};
  p.internal = {{{width * 0.1, height - 60},
                 {width * 0.1 + 50, height - 60},
                 {width * 0.1 + 50, height - 10},
                 {width * 0.1, height - 10},
                 {width * 0.1, height - 60}}};
  p.labels = {{"flag, cut 2, one mirrored", {width * 0.3, height * 0.4}, 5, 0.1, 90}};
  p.symmetry = {true,
                1.0 / 3,
                0.7,
                {{0, 0}, {width, 0}, {width, height}},
                {{0.1, 0.2}, {-0.7, 0}, {0.3, -1.0 / 3}},
                "a centre line is drawn"};
  p.pairing.reason = "no pair is named";
  p.faults = {{"piece-narrow", Severity::note, "a strip of 3 mm", "Look at it.", "flag.jpg", "flag"}};
  return p;
}

}  // namespace chalkfold::test
