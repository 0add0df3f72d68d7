// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/panel/panel.h"
#include "pipeline/trace/cuts/edge_strip.h"
#include "pipeline/trace/cuts/notches.h"

namespace chalkfold::trace {

/// Puts the notches' own courses into the panel's outline and the notches into its marks, in order. The outline beside a notch, which the fit
/// rounded, is taken from the edge's base. `cuts[i]` belongs to `bases[i]`, which were made from this outline.
/// Preconditions, checked: as many cuts as bases, each base of at least two points.
void cut_notches(panel::Panel& panel, const std::vector<EdgeBase>& bases,
                 const std::vector<std::vector<NotchCut>>& cuts);

}  // namespace chalkfold::trace
