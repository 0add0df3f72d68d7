// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/draft/piece/draft_piece.h"
#include "pipeline/draft/set/seam.h"
#include "tests/draft/drawn_shapes.h"

/// Three pieces whose paired edges are equal by design: the corner of a seat cushion's cover.
namespace chalkfold::drawn {

/// An outline of edges between corners, counter-clockwise, each a line or an arc.
struct Design {
  std::string name;
  Polyline corners;
  /// mm, sagitta of each edge; positive outward
  std::vector<double> bulge;
  /// of each edge, mm from its start
  std::vector<std::vector<double>> marks;

  std::vector<geometry::Curve> edges() const {
    std::vector<geometry::Curve> out;
    for (std::size_t i = 0; i < corners.size(); ++i) {
      const Vec2 a = corners[i], b = corners[(i + 1) % corners.size()], d = b - a;
      if (bulge[i] == 0) {
        out.push_back({line(a, b)});
        continue;
      }
      const double h = std::abs(bulge[i]), radius = (d.squaredNorm() / 4 + h * h) / (2 * h);
      const Vec2 inward(-d.y() / d.norm(), d.x() / d.norm());
      const double in = bulge[i] > 0 ? radius - h : h - radius;
      out.push_back({arc(a, b, 0.5 * (a + b) + in * inward, bulge[i] > 0)});
    }
    return out;
  }
  geometry::Curve outline() const {
    geometry::Curve all;
    for (const geometry::Curve& edge : edges()) all.insert(all.end(), edge.begin(), edge.end());
    return all;
  }
};

inline constexpr double front_length = 480, side_length = 440, corner_length = 160;  // mm, chords of the paired edges
inline constexpr double front_bulge = 12, side_bulge = 8;                            // mm

/// Arc length over a chord.
inline double over_chord(double chord, double sagitta) {
  const double radius = (chord * chord / 4 + sagitta * sagitta) / (2 * sagitta);
  return 2 * radius * std::asin(chord / (2 * radius));
}

inline Design cushion_top() {
  const Vec2 back(-side_length * std::sin(0.02), side_length * std::cos(0.02));
  return {"cushion top",
          {{0, 0}, {front_length, 0}, {510, 420}, back},
          {front_bulge, 0, 5, side_bulge},
          {{130, 300}, {}, {}, {100, 320}}};
}

inline Design front() {
  const double arc_length = over_chord(front_length, front_bulge);
  const Vec2 top(0, 160);
  return {"front",
          {top + corner_length * Vec2(std::sin(0.06), -std::cos(0.06)), {470, 5}, {front_length, 160}, top},
          {0, 0, -front_bulge, 0},
          {{}, {}, {arc_length - 300, arc_length - 130}, {60}}};
}

inline Design side() {
  const double arc_length = over_chord(side_length, side_bulge);
  const Vec2 top(side_length, 150);
  return {"side",
          {{10, -25}, top - corner_length * Vec2(std::sin(0.09), std::cos(0.09)), top, {0, 150}},
          {0, 0, -side_bulge, 0},
          {{}, {corner_length - 60}, {arc_length - 320, arc_length - 100}, {}}};
}

inline std::vector<Design> sewn_designs() { return {cushion_top(), front(), side()}; }

inline draft::SeamAsked seam(int number, const std::string& a, const std::string& b, double ease = 0) {
  draft::SeamAsked s;
  s.number = number;
  s.a = draft::read_seam_side(a);
  s.b = draft::read_seam_side(b);
  s.ease = ease;
  return s;
}

inline std::vector<draft::SeamAsked> sewn_seams() {
  return {seam(1, "cushion top/1", "front/3"), seam(2, "cushion top/4", "side/3"), seam(3, "front/4", "side/2")};
}

/// How a panel differs from its design.
struct Worn {
  /// share, along `direction`
  double stretch = 0;
  /// rad
  double direction = 0;
  /// mm, pushed outward beside `bulge_at`, within some 100 mm of it
  double bulge = 0;
  Vec2 bulge_at = Vec2::Zero(), outward = Vec2::Zero();
  /// mm, of the outline's points
  double noise = 0;
  /// mm, of marks along their edge
  double mark_noise = 0;
  std::uint32_t seed = 1;
  Vec2 operator()(const Vec2& p) const {
    const Vec2 along(std::cos(direction), std::sin(direction));
    return p + stretch * along.dot(p) * along + bulge * std::exp(-0.5 * (p - bulge_at).squaredNorm() / 3600) * outward;
  }
};

/// The panel as a photo would give it.
inline panel::Panel worn_panel(const Design& design, const Worn& worn = {}) {
  panel::Panel panel;
  panel.name = design.name;
  panel.photo = design.name + ".jpg";
  panel.outline = measured(design.outline(), worn.noise, worn.seed);
  for (Vec2& p : panel.outline.points) p = worn(p);
  std::mt19937 random(worn.seed + 100);
  const std::vector<geometry::Curve> edges = design.edges();
  for (std::size_t i = 0; i < edges.size(); ++i)
    for (const double along : design.marks[i]) {
      const double off = worn.mark_noise * (random() / 4294967296.0 - 0.5) * std::sqrt(12.0);
      const geometry::CurvePlace at = geometry::place_along(edges[i], along + off);
      panel::MatchMark mark;
      mark.foot = worn(at.point);
      mark.tip = worn(at.point + 12 * Vec2(-at.direction.y(), at.direction.x()));
      mark.group = static_cast<int>(panel.marks.matches.size());
      panel.marks.matches.push_back(mark);
    }
  panel.U_median = 2 * std::max(worn.noise, 0.02);
  return panel;
}

inline draft::DraftOptions on_the_seam() {
  draft::DraftOptions options;
  options.existing_allowance = 0;
  options.symmetry.symmetric = draft::Symmetric::no;
  return options;
}

/// A piece exactly as designed: its edges are the design's own curves.
inline draft::Piece exact_piece(const Design& design) {
  draft::Piece piece = draft::draft_piece(worn_panel(design), on_the_seam());
  const std::vector<geometry::Curve> edges = design.edges();
  for (std::size_t i = 0; i < edges.size(); ++i) piece.edges[i].sew = edges[i];
  for (draft::PieceMark& mark : piece.marks) {
    const auto e = static_cast<std::size_t>(mark.edge) - 1;
    const auto& wanted = design.marks[e];
    mark.along = *std::min_element(wanted.begin(), wanted.end(), [&](double a, double b) {
      return std::abs(a - mark.along) < std::abs(b - mark.along);
    });
    mark.on_sew = geometry::place_along(edges[e], mark.along).point;
  }
  return piece;
}

inline std::vector<draft::Piece> exact_set() {
  std::vector<draft::Piece> pieces;
  for (const Design& design : sewn_designs()) pieces.push_back(exact_piece(design));
  return pieces;
}

}  // namespace chalkfold::drawn
