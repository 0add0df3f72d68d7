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

/// A hide and an offcut are material to be cut from: measured as a panel is, with the flaws that are ringed on it, and never drafted.
enum class PanelKind { panel, hide, offcut };

/// "panel", "hide", "offcut": as a job says it.
std::string to_string(PanelKind kind);

/// A place that is not to be used: someone drew a ring around it.
struct Flaw {
  Polyline
      ring;  ///< closed, counter-clockwise, table mm: the outer edge of the drawn line, so that a cut stays outside
  double width = 0;  ///< mm, of the drawn line
  double gap = 0;    ///< mm, the longest stretch of the ring on which nothing was seen; 0: drawn all round
  double U = 0;      ///< mm, k = 2, of the ring along its normal
  double confidence = 0;
  Srgb colour{};
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
  PanelKind kind = PanelKind::panel;  ///< set by the job
  std::optional<bool> face_up;        ///< of a hide or an offcut: which side was up, where the job says it
  std::vector<Flaw> flaws;            ///< of a hide or an offcut; it has no marks
  double area = 0;                    ///< mm2, cut-outs taken off
  double perimeter = 0;               ///< mm
  Vec2 extent = Vec2::Zero();         ///< mm, sides of the smallest rectangle around the outline, longer first
  double edge_sigma = 0;              ///< mm, median of outline.sigma
  double U_median = 0, U_max = 0;     ///< mm, of outline.U
  double px_per_mm = 0;
  Faults faults;
};

/// The outline as it was before its notches were cut: straight across their mouths. What is drafted from.
/// Precondition: the notches' first and last index outline points, and neither lies inside another notch.
Contour outline_across_notches(const Panel& panel);

/// Whether it is material to be cut from rather than a panel of a cover.
inline bool is_material(const Panel& panel) { return panel.kind != PanelKind::panel; }

/// mm2 within the outline that neither cut-outs nor flaws cover; where they overlap they count once.
double usable_area(const Panel& panel);

/// mm2, the most that usable_area can be off by: every boundary off by its U to the same side.
double usable_area_U(const Panel& panel);

}  // namespace chalkfold
