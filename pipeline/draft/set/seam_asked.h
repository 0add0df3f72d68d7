// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>

#include "pipeline/draft/set/seam_side.h"

namespace chalkfold::draft {

/// How side b is travelled while side a is travelled counter-clockwise.
enum class SeamRun {
  /// as the marks tell, or else against when both are drawn same side up and neither is mirrored
  automatic,
  /// clockwise: two pieces drawn same side up and laid beside each other along their seam
  against,
  /// counter-clockwise: one of them is drawn face up or used mirrored
  with,
};

/// Where in the order of sewing a seam comes; common practice, no source.
enum class SewingGroup { centre, sides, sides_to_centre, closing, edge_strip };

/// A seam as the job asks for it, or as it is proposed.
struct SeamAsked {
  /// of the job, or counted on from it
  int number = 0;
  SeamSide a, b;
  /// mm, by which a is to be longer than b, spread evenly between the marks
  double ease = 0;
  SeamRun run = SeamRun::automatic;
  /// none: for the sewing sheet to decide
  std::optional<SewingGroup> group;
  /// place in the order of sewing; none: as the group says, then by number
  std::optional<int> order;
  /// try the cover on before this seam is sewn
  bool fit_on_seat = false;
  /// for the sewing sheet
  std::string note;
};

}  // namespace chalkfold::draft
