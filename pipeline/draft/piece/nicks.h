// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/panel/panel.h"

namespace chalkfold::draft {

/// A dent in the cut edge that the trace did not tell as a notch.
struct Nick {
  /// middle of its mouth, deepest point
  Vec2 foot = Vec2::Zero(), tip = Vec2::Zero();
  /// mm
  double depth = 0;
};

/// What across_nicks takes for a nick.
struct NickOptions {
  /// mm of outline from end to end of a nick's mouth: both sides of a cut 8 mm deep and wide, and some more
  double widest = 22;
  /// rad, that the edge may turn across it
  double same_way = 0.2;
  /// mm, that the edge may step across it
  double same_line = 1.5;
  /// mm; shallower ones are fray or wear
  double least_depth = 2;
  /// mm; deeper ones, and those with a mouth of more than 16 mm, belong to the shape
  double most_depth = 10;
};

/// Throws UsageError that names the first option out of bounds, its value and the bounds.
void check(const NickOptions& options);

/// The contour straight across its nicks: short dents inward beyond which the edge goes on as it came. `nicks` gets
/// them in order. Points across a mouth have the sigma of its ends, 0.3 mm
/// at least. Precondition: closed, counter-clockwise, at least 3 points some millimetre apart, with sigma and U.
panel::Contour across_nicks(const panel::Contour& outline, std::vector<Nick>& nicks, const NickOptions& options = {});

}  // namespace chalkfold::draft
