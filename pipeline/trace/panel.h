// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "pipeline/common/fault.h"
#include "pipeline/geometry/point.h"
#include "pipeline/trace/mark.h"

namespace chalkfold {

/// A closed boundary in mm with its uncertainty, point by point. Outlines run counter-clockwise (y up), cut-outs clockwise.
struct Contour {
  Polyline points;            ///< table mm, on the panel's upper face
  std::vector<double> sigma;  ///< mm, 1 standard deviation along the normal, of the edge finding alone
  std::vector<double>
      U;  ///< mm, expanded uncertainty (k = 2) along the normal, everything included, rigid motion removed
};

/// A panel as it lies, as photographed (never mirrored).
struct Panel {
  std::string name;        ///< set by the job; empty from trace
  std::string photo;       ///< file name of the photo it was measured in
  std::optional<int> tag;  ///< number of the tag nearest to it
  double thickness = 0;    ///< mm, used for its upper face
  Contour outline;         ///< the cut's true course, notches and slits followed
  std::vector<Contour> cutouts;
  Marks marks;
  double area = 0;                 ///< mm2, cut-outs taken off
  double perimeter = 0;            ///< mm
  Vec2 extent = Vec2::Zero();      ///< mm, sides of the smallest rectangle around the outline, longer first
  double edge_sigma = 0;           ///< mm, median of outline.sigma
  double U_median = 0, U_max = 0;  ///< mm, of outline.U
  double px_per_mm = 0;
  Faults faults;
};

/// The outline as it was before its notches were cut: straight across their mouths. What is drafted from.
/// Precondition: the notches' first and last index outline points, and neither lies inside another notch.
Contour outline_across_notches(const Panel& panel);

}  // namespace chalkfold
