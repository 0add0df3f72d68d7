// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

#include "pipeline/geometry/polygon.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/join_outlines.h"
#include "pipeline/trace/rings.h"
#include "pipeline/trace/panel.h"
#include "pipeline/trace/trace_options.h"

namespace chalkfold {

/// One photo's sight of a panel that several photos show.
struct PanelSight {
  const Panel* panel = nullptr;  ///< as traced in that photo, in its table frame
  Polyline seen;                 ///< in that table frame, of a part; empty when the photo shows the panel whole
  const TableView* view = nullptr;
  Rigid2 table_from_joined;  ///< from the frame of the joined panel
  int frame = 0;             ///< sights with the same number share their table_from_joined
  bool whole() const { return seen.empty(); }
};

/// Joins what photos show of one panel, in the joined frame, without marks (add_marks_of), name and tag: outlines by join_outlines, cut-outs alike where a whole or a part sees them, U from the joint covariance
/// of the photos (`joint`, sight after sight). A panel seen by photos that disagree by more than their U over a longer stretch carries the warning
/// photos-disagree with the place; it is a refusal when parts put an edge that both see in different places. None when the sights leave a gap; precondition: two sights or more.
std::optional<Panel> join_panel(const std::vector<PanelSight>& sights, const Eigen::MatrixXd& joint,
                                const TraceOptions& options, OutlineGap* gap = nullptr);

/// Reads the marks of a joined panel in one photo and adds them to those already found in others: a mark seen twice is averaged by sigma,
/// notches are cut into the outline. Marks outside `sight.seen` are left out. Call for each sight in turn, best first.
void add_marks_of(Panel& joined, const PanelSight& sight, const Photo& photo, const TraceOptions& options);

/// Adds the lines drawn on a joined hide that one photo shows and no photo before it did, in the joined frame; set_flaws makes rings of them. Call
/// for each sight in turn, best first.
void add_chalk_lines_of(std::vector<ChalkLine>& lines, const Panel& joined, const PanelSight& sight, const Photo& photo,
                        const TraceOptions& options);

}  // namespace chalkfold
