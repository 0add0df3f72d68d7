// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>

#include "pipeline/geometry/polygon.h"
#include "pipeline/panel/panel.h"

namespace chalkfold::trace {

/// A panel moved rigidly, marks and all.
panel::Panel moved(const geometry::Rigid2& target_from_source, panel::Panel panel);

/// Adds to a joined panel the marks that one photo shows of it. `seen`: the panel as that photo's marks were read, in the joined frame; its outline before its
/// notches were cut was the joined one's. `believed` tells where the photo is to be believed. A mark that is there already is averaged
/// with its like by sigma; of writing, grain lines and notches the more certain stays, of centre lines that do not agree the longer; rows and centre lines
/// that go on are made longer; notches are cut into the outline. What is measured along the outline is measured anew.
void add_marks(panel::Panel& joined, const panel::Panel& seen, const std::function<bool(const Vec2&)>& believed);

}  // namespace chalkfold::trace
