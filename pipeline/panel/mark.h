// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::panel {

/// What was drawn on a panel, cut into it or left in it by the old seam: in the same frame as the panel's outline (mm, y up,
/// as photographed). `along` is the arc length, mm, from the outline's first point, counter-clockwise, on the outline taken
/// straight across its notches (outline_across_notches). `confidence` is 0..1: the share of such findings expected to be true.
/// `colour` is sRGB, 0..255.
using Srgb = std::array<std::uint8_t, 3>;

/// A part of the photo beside a mark, an upright box in the panel's frame: a number to be read by a person.
struct MarkCrop {
  Vec2 low = Vec2::Zero(), high = Vec2::Zero();
};

/// A short stroke at the edge that is to meet another one on the panel sewn to it.
struct MatchMark {
  /// where its line meets the outline
  double along = 0;
  /// that point
  Vec2 foot = Vec2::Zero();
  /// its inner end
  Vec2 tip = Vec2::Zero();
  /// mm, of the stroke
  double width = 0;
  /// marks drawn together (double, triple) share a number; numbers run along the outline from 0
  int group = 0;
  /// nearer to a corner than its own length
  bool at_corner = false;
  /// mm, of `along`
  double sigma = 0;
  double confidence = 0;
  Srgb colour{};
  /// glyphs beside the mark
  std::optional<MarkCrop> number;
};

/// The line that halves the panel, drawn by hand: the straight line fitted to it.
struct CentreLine {
  /// ends of the stroke on the fitted line, the lower (smaller y) first
  Vec2 from = Vec2::Zero(), to = Vec2::Zero();
  /// mm, rms of the stroke about the line
  double straightness = 0;
  /// mm, of the line's offset at its middle
  double sigma = 0;
  /// rad
  double sigma_angle = 0;
  double confidence = 0;
  Srgb colour{};
};

struct GrainLine {
  Vec2 tail = Vec2::Zero(), head = Vec2::Zero();
  /// false: a head at both ends
  bool directed = true;
  /// mm, of the line's offset at its middle
  double sigma = 0;
  /// rad
  double sigma_angle = 0;
  double confidence = 0;
  Srgb colour{};
};

/// A group of glyphs. Its text is never guessed, but for the underside letter.
struct Writing {
  /// corners in turn, counter-clockwise; upright writing starts at box[0]
  std::array<Vec2, 4> box{};
  /// the single letter U
  bool underside = false;
  /// rad, direction of the letter's up; only for the underside letter
  double up = 0;
  double confidence = 0;
  Srgb colour{};
};

enum class NotchShape { vee, slit, round };

/// A nick in the cut edge.
struct Notch {
  NotchShape shape = NotchShape::vee;
  /// of the middle of its mouth
  double along = 0;
  /// that point
  Vec2 foot = Vec2::Zero();
  /// its deepest point
  Vec2 tip = Vec2::Zero();
  /// mm; width of the mouth, 0 for a slit
  double depth = 0, width = 0;
  std::size_t first = 0,
              /// outline points on either side of the mouth; those between them are the notch's own course
      last = 0;
  /// mm, of `along`
  double sigma = 0;
  double confidence = 0;
};

/// A hole of a drill or an awl.
struct DrillHole {
  Vec2 centre = Vec2::Zero();
  /// mm
  double diameter = 0;
  /// mm, of the centre
  double sigma = 0;
  double confidence = 0;
};

/// The old seam: its needle holes in order.
struct NeedleRow {
  /// the sew line through the holes, in order along the outline
  Polyline points;
  /// mm, from hole to hole
  double pitch = 0;
  /// of the holes that the pitch asks for
  double found_share = 0;
  double allowance = 0,
         /// mm, distance to the outline: median, and half the width of the middle 68 %
      allowance_spread = 0;
  /// mm, across the line
  double sigma = 0;
  double confidence = 0;
};

struct Marks {
  /// in order along the outline
  std::vector<MatchMark> matches;
  std::optional<CentreLine> centre;
  std::optional<GrainLine> grain;
  std::vector<Writing> writings;
  /// in order along the outline
  std::vector<Notch> notches;
  std::vector<DrillHole> holes;
  std::vector<NeedleRow> needle_rows;
};

}  // namespace chalkfold::panel
