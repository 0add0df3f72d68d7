// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

#include "pipeline/capture/photo.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/panel/panel.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/base/trace_options.h"
#include "pipeline/trace/chalk/rings.h"
#include "pipeline/trace/join_outlines.h"

namespace chalkfold::trace {

/// One photo's sight of a panel that several photos show.
struct PanelSight {
  /// as traced in that photo, in its table frame
  const panel::Panel* panel = nullptr;
  /// in that table frame, of a part; empty when the photo shows the panel whole
  Polyline seen;
  const survey::TableView* view = nullptr;
  /// from the frame of the joined panel
  geometry::Rigid2 table_from_joined;
  /// sights with the same number share their table_from_joined
  int frame = 0;
  bool whole() const { return seen.empty(); }
};

/// Joins what photos show of one panel, in the joined frame, without marks (add_marks_of), name and tag: outlines by join_outlines, cut-outs alike where a whole or a part sees them, U from the joint covariance
/// of the photos (`joint`, sight after sight). A panel seen by photos that disagree by more than their U over a longer stretch carries the warning
/// photos-disagree with the place; it is a refusal when parts put an edge that both see in different places. None when the sights leave a gap; precondition: two sights or more.
std::optional<panel::Panel> join_panel(const std::vector<PanelSight>& sights, const Eigen::MatrixXd& joint,
                                       const TraceOptions& options, OutlineGap* gap = nullptr);

/// Reads the marks of a joined panel in one photo and adds them to those already found in others: a mark seen twice is averaged by sigma,
/// notches are cut into the outline. Marks outside `sight.seen` are left out. Call for each sight in turn, best first.
void add_marks_of(panel::Panel& joined, const PanelSight& sight, const capture::Photo& photo,
                  const TraceOptions& options);

/// Adds the lines drawn on a joined hide that one photo shows and no photo before it did, in the joined frame; set_flaws makes rings of them. Call
/// for each sight in turn, best first.
void add_chalk_lines_of(std::vector<ChalkLine>& lines, const panel::Panel& joined, const PanelSight& sight,
                        const capture::Photo& photo, const TraceOptions& options);

}  // namespace chalkfold::trace
