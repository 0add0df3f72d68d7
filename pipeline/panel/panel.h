// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "pipeline/common/fault.h"
#include "pipeline/geometry/point.h"
#include "pipeline/panel/mark.h"

namespace chalkfold::panel {

/// A closed boundary in mm with its uncertainty, point by point. Outlines run counter-clockwise (y up), cut-outs clockwise.
struct Contour {
  /// table mm, on the panel's upper face
  Polyline points;
  /// mm, 1 standard deviation along the normal, of the edge finding alone
  std::vector<double> sigma;
  /// mm, expanded uncertainty (k = 2) along the normal, everything included, rigid motion removed
  std::vector<double> U;
};

/// A hide and an offcut are material to be cut from: measured as a panel is, with the flaws that are ringed on it, and never drafted.
enum class PanelKind { panel, hide, offcut };

/// "panel", "hide", "offcut": as a job says it.
std::string to_string(PanelKind kind);

/// A place that is not to be used: someone drew a ring around it.
struct Flaw {
  /// closed, counter-clockwise, table mm: the outer edge of the drawn line, so that a cut stays outside
  Polyline ring;
  /// mm, of the drawn line
  double width = 0;
  /// mm, the longest stretch of the ring on which nothing was seen; 0: drawn all round
  double gap = 0;
  /// mm, k = 2, of the ring along its normal
  double U = 0;
  double confidence = 0;
  Srgb colour{};
};

/// A panel as it lies, as photographed (never mirrored).
struct Panel {
  /// set by the job; empty from trace
  std::string name;
  /// file name of the photo it was measured in
  std::string photo;
  /// number of the tag nearest to it
  std::optional<int> tag;
  /// mm, used for its upper face
  double thickness = 0;
  /// the cut's true course, notches and slits followed
  Contour outline;
  std::vector<Contour> cutouts;
  Marks marks;
  /// set by the job
  PanelKind kind = PanelKind::panel;
  /// of a hide or an offcut: which side was up, where the job says it
  std::optional<bool> face_up;
  /// of a hide or an offcut; it has no marks
  std::vector<Flaw> flaws;
  /// mm2, cut-outs taken off
  double area = 0;
  /// mm
  double perimeter = 0;
  /// mm, sides of the smallest rectangle around the outline, longer first
  Vec2 extent = Vec2::Zero();
  /// mm, median of outline.sigma
  double edge_sigma = 0;
  /// mm, of outline.U
  double U_median = 0, U_max = 0;
  double px_per_mm = 0;
  Faults faults;
};

/// The outline as it was before its notches were cut: straight across their mouths. What is drafted from.
/// Precondition: the notches' first and last index outline points, each with sigma and U; of a notch inside another nothing is left.
Contour outline_across_notches(const Panel& panel);

/// Whether it is material to be cut from rather than a panel of a cover.
inline bool is_material(const Panel& panel) { return panel.kind != PanelKind::panel; }

/// mm2 within the outline that neither cut-outs nor flaws cover; where they overlap they count once.
double usable_area(const Panel& panel);

/// mm2, the most that usable_area can be off by: every boundary off by its U to the same side. Precondition: each point has a U.
double usable_area_U(const Panel& panel);

}  // namespace chalkfold::panel
