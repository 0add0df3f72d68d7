// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold {

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
  double along = 0;          ///< where its line meets the outline
  Vec2 foot = Vec2::Zero();  ///< that point
  Vec2 tip = Vec2::Zero();   ///< its inner end
  double width = 0;          ///< mm, of the stroke
  int group = 0;  ///< marks drawn together (double, triple) share a number; numbers run along the outline from 0
  bool at_corner = false;  ///< nearer to a corner than its own length
  double sigma = 0;        ///< mm, of `along`
  double confidence = 0;
  Srgb colour{};
  std::optional<MarkCrop> number;  ///< glyphs beside the mark
};

/// The line that halves the panel, drawn by hand: the straight line fitted to it.
struct CentreLine {
  Vec2 from = Vec2::Zero(), to = Vec2::Zero();  ///< ends of the stroke on the fitted line, the lower (smaller y) first
  double straightness = 0;                      ///< mm, rms of the stroke about the line
  double sigma = 0;                             ///< mm, of the line's offset at its middle
  double sigma_angle = 0;                       ///< rad
  double confidence = 0;
  Srgb colour{};
};

struct GrainLine {
  Vec2 tail = Vec2::Zero(), head = Vec2::Zero();
  bool directed = true;    ///< false: a head at both ends
  double sigma = 0;        ///< mm, of the line's offset at its middle
  double sigma_angle = 0;  ///< rad
  double confidence = 0;
  Srgb colour{};
};

/// A group of glyphs. Its text is never guessed, but for the underside letter.
struct Writing {
  std::array<Vec2, 4> box{};  ///< corners in turn, counter-clockwise; upright writing starts at box[0]
  bool underside = false;     ///< the single letter U
  double up = 0;              ///< rad, direction of the letter's up; only for the underside letter
  double confidence = 0;
  Srgb colour{};
};

enum class NotchShape { vee, slit, round };

/// A nick in the cut edge.
struct Notch {
  NotchShape shape = NotchShape::vee;
  double along = 0;             ///< of the middle of its mouth
  Vec2 foot = Vec2::Zero();     ///< that point
  Vec2 tip = Vec2::Zero();      ///< its deepest point
  double depth = 0, width = 0;  ///< mm; width of the mouth, 0 for a slit
  std::size_t first = 0,
              last = 0;  ///< outline points on either side of the mouth; those between them are the notch's own course
  double sigma = 0;      ///< mm, of `along`
  double confidence = 0;
};

/// A hole of a drill or an awl.
struct DrillHole {
  Vec2 centre = Vec2::Zero();
  double diameter = 0;  ///< mm
  double sigma = 0;     ///< mm, of the centre
  double confidence = 0;
};

/// The old seam: its needle holes in order.
struct NeedleRow {
  Polyline points;         ///< the sew line through the holes, in order along the outline
  double pitch = 0;        ///< mm, from hole to hole
  double found_share = 0;  ///< of the holes that the pitch asks for
  double allowance = 0,
         allowance_spread = 0;  ///< mm, distance to the outline: median, and half the width of the middle 68 %
  double sigma = 0;             ///< mm, across the line
  double confidence = 0;
};

struct Marks {
  std::vector<MatchMark> matches;  ///< in order along the outline
  std::optional<CentreLine> centre;
  std::optional<GrainLine> grain;
  std::vector<Writing> writings;
  std::vector<Notch> notches;  ///< in order along the outline
  std::vector<DrillHole> holes;
  std::vector<NeedleRow> needle_rows;
};

}  // namespace chalkfold
