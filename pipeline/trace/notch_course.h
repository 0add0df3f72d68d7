// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/trace/edge_strip.h"
#include "pipeline/trace/notches.h"
#include "pipeline/trace/panel.h"

namespace chalkfold {

/// Puts the notches' own courses into the panel's outline and the notches into its marks, in order. The outline beside a notch, which the fit
/// rounded, is taken from the edge's base. `cuts[i]` belongs to `bases[i]`, which were made from this outline.
void cut_notches(Panel& panel, const std::vector<EdgeBase>& bases, const std::vector<std::vector<NotchCut>>& cuts);

}  // namespace chalkfold
