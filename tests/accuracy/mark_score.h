// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "demo/base/scene.h"
#include "pipeline/panel/panel.h"

namespace chalkfold::accuracy {

/// Marks of one kind: how many there are, how many of them were found, how many findings have no mark of their own.
struct Tally {
  int truth = 0, found = 0, invented = 0;
  Tally& operator+=(const Tally& o) { return truth += o.truth, found += o.found, invented += o.invented, *this; }
  /// 1 when there is nothing to find, or nothing was.
  double recall() const { return truth > 0 ? static_cast<double>(found) / truth : 1; }
  double precision() const { return found + invented > 0 ? static_cast<double>(found) / (found + invented) : 1; }
};

/// What one panel's marks came to, or many panels' together. Errors are of the marks found: mm, degrees where named.
struct MarkScore {
  /// panels in the photos, those of them that were not measured (all their marks missed)
  int panels = 0, missing = 0;
  Tally match, centre, grain, underside, writing, notch, hole, row;
  std::vector<double> match_errors;
  /// match marks found that stand in a group of the true size
  int groups_right = 0;
  std::vector<double> centre_angle_deg, centre_offset;
  std::vector<double> grain_angle_deg;
  /// directed the wrong way; one head taken for two or two for one
  int grain_reversed = 0, grain_heads_wrong = 0;
  int notch_shape_right = 0;
  std::vector<double> notch_depth_errors, hole_errors;
  /// true ones; those within 1 mm of a row found
  int needle_holes = 0, needle_holes_near = 0;
  /// of true needle holes to the row found, those within 1.5 mm
  std::vector<double> row_errors;
  int false_marks() const;
  MarkScore& operator+=(const MarkScore& other);
};

/// How near a finding must be to count, mm; one farther off is another line or mark, hence invented and its own missed.
struct ScoreLimits {
  /// as in the outside check of the photographs
  double match = 3, notch = 4;
  /// less than the largest hole's radius
  double hole = 2;
  /// some ten times what a centre line is allowed to be off
  double centre = 5, centre_angle_deg = 3;
  double grain = 10,
         /// the line's middle from the true line, five times the angle it is allowed
      grain_angle_deg = 10;
  double row = 1.5, row_near = 1;
  /// a row with more than half of its points farther from every true row is invented
  double row_invented = 3;
  /// a box's middle may lie so far outside the true box
  double writing = 10;
};

/// Rigid motion that lays the measured outline on the true one: starts from a good guess, then nearest points again and
/// again (iterated closest points: P. Besl, N. McKay, "A method for registration of 3-D shapes", 1992, in 2-D).
geometry::Rigid2 truth_from_measured(const Polyline& measured, const Polyline& truth, const geometry::Rigid2& guess);

/// Scores the marks of a panel. One finding serves one mark, the nearest pairs first; every other finding is invented.
MarkScore score_marks(const chalkfold::panel::Panel& measured, const demo::LaidPanel& truth,
                      const geometry::Rigid2& truth_from_panel, const ScoreLimits& limits = {});

/// The score of a panel that was not measured at all.
MarkScore score_missing(const demo::LaidPanel& truth);

}  // namespace chalkfold::accuracy
