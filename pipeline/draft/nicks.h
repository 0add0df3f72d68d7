// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/panel.h"

namespace chalkfold {

/// A dent in the cut edge that the trace did not tell as a notch.
struct Nick {
  Vec2 foot = Vec2::Zero(), tip = Vec2::Zero();  ///< middle of its mouth, deepest point
  double depth = 0;                              ///< mm
};

struct NickOptions {
  double widest =
      22;  ///< mm of outline from end to end of a nick's mouth: both sides of a cut 8 mm deep and wide, and some more
  double same_way = 0.2;   ///< rad, that the edge may turn across it
  double same_line = 1.5;  ///< mm, that the edge may step across it
  double least_depth = 2;  ///< mm; shallower ones are fray or wear
  double most_depth = 10;  ///< mm; deeper ones, and those with a mouth of more than 16 mm, belong to the shape
};

/// The contour straight across its nicks: short dents inward beyond which the edge goes on as it came. `nicks` gets
/// them in order. Points across a mouth have the sigma of its ends, 0.3 mm
/// at least. Precondition: closed, counter-clockwise, points some millimetre apart.
Contour across_nicks(const Contour& outline, std::vector<Nick>& nicks, const NickOptions& options = {});

}  // namespace chalkfold
