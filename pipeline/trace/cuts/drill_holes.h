// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/panel/mark.h"
#include "pipeline/trace/chalk/panel_picture.h"
#include "pipeline/trace/chalk/stroke_finder.h"

namespace chalkfold::trace {

struct DrillHoleOptions {
  /// mm; wider openings are cut-outs
  double least_diameter = 1.5, most_diameter = 6.8;
  /// standard deviations of the material
  double least_contrast = 7;
  /// longer over shorter axis
  double most_elongation = 1.45;
  /// share of a ring around it that shows bare material
  double least_bare = 0.9;
};

/// Round openings of a drill or awl: small islands that depart far from the material, round, alone, and of the table's colour or darker. Glyphs
/// and chalk dust are neither round nor alone; needle holes are told by their rows and their size.
std::vector<panel::DrillHole> find_drill_holes(const PanelPicture& picture, const std::vector<Stroke>& strokes,
                                               const std::vector<panel::NeedleRow>& rows,
                                               const DrillHoleOptions& options = {});

}  // namespace chalkfold::trace
