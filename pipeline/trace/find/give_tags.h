// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/capture/sighting.h"
#include "pipeline/panel/panel.h"
#include "pipeline/survey/table_view.h"

namespace chalkfold::trace {

/// Gives every tag to the panel it lies on or nearest to; a panel takes the nearest of its tags. Where two panels are about
/// equally near, a panel that has a tag of its own by then is left out; if that does not settle it, neither gets the tag. Fault codes, all warnings
/// with the place in the photo: tag-seen-twice (one number at two places: neither counts), tag-between-panels, two-tags (of one panel).
Faults give_tags(const std::vector<panel::Panel*>& panels, const capture::Sighting& sighting,
                 const survey::TableView& view);

}  // namespace chalkfold::trace
