// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/reflection.h"
#include "pipeline/panel/mark.h"
#include "pipeline/trace/base/stroke_shape.h"
#include "pipeline/trace/chalk/stroke_finder.h"

namespace chalkfold::trace {

struct CentreLineResult {
  std::optional<panel::CentreLine> line;
  /// those it is made of
  std::vector<std::size_t> strokes;
  /// the outline's own, when there is a line: found as a piece's axis is, but without the chalk
  geometry::MirrorAxis reflection;
  /// rad and mm (at the outline's centroid) between the two
  double off_angle = 0, off = 0;
};

/// Bounds within which line and reflection agree: a worn half moves the outline's own axis by about half of what it has stretched.
/// rad, two degrees: a hand with a rule is within half of one, wear adds the rest; fitted, as in centre_line.cpp
inline constexpr double centre_agrees_angle = 0.035;
/// mm: 4 on a narrow panel, else half of a stretch of 3 % of a half
double centre_agrees_offset(double extent_across);

/// The long straight stroke that halves the panel, in one piece or several, full length or part of it. Strokes with an arrow head
/// are not to be among those offered (set used[i]).
CentreLineResult find_centre_line(const std::vector<Stroke>& strokes, const geometry::ClosedOutline& outline,
                                  const std::vector<bool>& used);

}  // namespace chalkfold::trace
