// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "pipeline/trace/mark.h"
#include "pipeline/trace/stroke_finder.h"
#include "pipeline/trace/stroke_shape.h"

namespace chalkfold {

/// A straight line about which an outline is most nearly its own mirror image.
struct ReflectionAxis {
  Vec2 middle = Vec2::Zero();
  Vec2 direction = Vec2::UnitY();  ///< unit
  double rms = 0;                  ///< mm, of the mirrored outline's distance from the outline
};

/// The best reflection near a given line: least squares over offset and angle (Gauss-Newton on point-to-line distances, nearest points
/// found anew in each round). Precondition: a closed outline.
ReflectionAxis best_reflection(const OutlineRuler& outline, const Vec2& middle, const Vec2& direction);

struct CentreLineOptions {
  double least_share = 0.2;     ///< of the panel's extent along it that the stroke must cover
  double least_length = 60;     ///< mm
  double most_bow = 2.5;        ///< mm, rms of the stroke about its line
  double most_unequal = 0.10;   ///< difference of the two halves' areas, of the whole
  double most_residual = 0.08;  ///< rms of the reflection about the drawn line, of the panel's extent across it
};

struct CentreLineResult {
  std::optional<CentreLine> line;
  std::vector<std::size_t> strokes;  ///< those it is made of
  ReflectionAxis reflection;         ///< the outline's own, when there is a line
  double off_angle = 0, off = 0;     ///< rad and mm (at the outline's centroid) between the two
};

/// Bounds within which line and reflection agree: a worn half moves the outline's own axis by about half of what it has stretched.
inline constexpr double centre_agrees_angle = 0.035;  ///< rad, two degrees
double centre_agrees_offset(double extent_across);    ///< mm

/// The long straight stroke that halves the panel, in one piece or several, full length or part of it. Strokes with an arrow head
/// are not to be among those offered (set used[i]).
CentreLineResult find_centre_line(const std::vector<Stroke>& strokes, const OutlineRuler& outline,
                                  const std::vector<bool>& used, const CentreLineOptions& options = {});

}  // namespace chalkfold
