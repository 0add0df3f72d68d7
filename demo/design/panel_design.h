// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "demo/base/scene.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::demo {

/// The invented set: one helm seat of a small motor launch; and, for tests, a flag, a bench's cover and a mat.
enum class DesignKind {
  cushion_top,
  front,
  side_left,
  side_right,
  back_inner,
  back_outer,
  bolster_left,
  bolster_right,
  piping_strip,
  flag,
  bench,
  mat
};
inline constexpr std::array launch_set = {
    DesignKind::cushion_top,  DesignKind::front,         DesignKind::side_left,
    DesignKind::side_right,   DesignKind::back_inner,    DesignKind::back_outer,
    DesignKind::bolster_left, DesignKind::bolster_right, DesignKind::piping_strip};

/// One edge: a cubic curve (Bezier). Panel frame, mm, y up.
struct DesignEdge {
  Vec2 from, control1, control2, to;
};

struct MatchAt {
  int edge = 0;
  /// share of the edge's length
  double along = 0.5;
  double length = 22;
  /// 2 and 3 make double and triple marks
  int strokes = 1;
  /// mm, between the strokes of one mark
  double spacing = 7;
};

enum class NotchKind { vee, round, slit };
struct NotchAt {
  int edge = 0;
  double along = 0.5;
  NotchKind kind = NotchKind::vee;
  double depth = 6;
  /// mm, of the mouth; 0: the kind's usual one
  double width = 0;
};

/// Width of a notch's mouth: its own, or for a vee its depth, for a round one 5 mm, for a slit 0.7 mm.
double mouth_width(const NotchAt& notch);

/// An old needle line beside an edge.
struct NeedleLine {
  int edge = 0;
  /// mm
  double from_edge = 10;
  /// mm
  double pitch = 4;
  /// mm across
  double hole = 0.8;
  /// see NeedleRow
  double rim = 0;
  /// of the row that has lost its holes, in stretches
  double worn_share = 0;
};

struct AwlHole {
  Vec2 at = Vec2::Zero();
  double diameter = 3;
};

/// two strokes; a filled triangle; two strokes at both ends
enum class GrainHead { open, filled, both };

struct WrittenOn {
  std::string text;
  /// of the mark: text or underside
  std::string kind = "text";
  Vec2 lower_left = Vec2::Zero();
  double height = 40;
  /// rad, the writing is turned about its lower left corner
  double angle = 0;
  /// drawn in curves, as a hand does
  bool rounded = false;
  /// the match mark that it stands beside
  int match = -1;
};

/// A ring around a flaw, drawn by hand from `start` on, counter-clockwise.
struct RingAt {
  Vec2 centre = Vec2::Zero();
  /// mm, of the middle of the stroke, along `turn` and across it
  double across = 60, other = 60;
  /// rad
  double turn = 0;
  /// rad
  double start = 0;
  /// mm drawn on past its beginning; negative: short of it
  double past = 0;
};

/// A panel as designed. Edges run counter-clockwise and close; the axis of a symmetric panel is x = 0.
struct PanelDesign {
  std::string name{};
  bool symmetric = false;
  std::vector<DesignEdge> edges{};
  std::vector<Polyline> holes{};
  /// what the edges already have cut into them (panel_cuts); panel frame
  std::vector<SlotInPanel> slots{};
  std::vector<InnerCorner> inner_corners{};
  std::vector<MatchAt> matches{};
  std::vector<NotchAt> notches{};
  std::vector<NeedleLine> needle_lines{};
  std::vector<AwlHole> awl_holes{};
  /// chalked centre line, from and to
  std::optional<std::array<Vec2, 2>> centre{};
  /// tail, head
  std::optional<std::array<Vec2, 2>> grain{};
  GrainHead grain_head = GrainHead::open;
  std::vector<WrittenOn> written{};
  std::vector<RingAt> rings{};
};

PanelDesign panel_design(DesignKind kind);

/// The other hand of a panel: mirrored in x = 0, writing kept readable (it must be upright).
PanelDesign mirrored(const PanelDesign& design, const std::string& name);

/// Points along an edge from its start (kept) to its end (left out), at most `step` mm apart.
Polyline sampled(const DesignEdge& edge, double step);

/// True when edge i starts in a corner: the outline turns there by more than 15 degrees.
bool starts_in_corner(const PanelDesign& design, std::size_t i);

}  // namespace chalkfold::demo
